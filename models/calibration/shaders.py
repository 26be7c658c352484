"""The shaders of the renderer, in GLSL 3.30."""

BODY_VERTEX = """#version 330
in vec3 rest; in vec3 normal; in vec4 worn; in vec2 drawn;
in vec4 bone_a; in vec4 bone_b; in vec4 weight_a; in vec4 weight_b;
uniform mat4 clip; uniform mat4 light_clip; uniform sampler2D bones;
out vec3 at; out vec3 n; out vec3 still; out vec4 wears; out vec2 has; out vec4 lit; out vec3 tint;
mat4x3 skin(){
  mat4x3 m = mat4x3(0.);
  for(int k=0;k<8;k++){
    float w = k<4 ? weight_a[k] : weight_b[k-4];
    int b = int((k<4 ? bone_a[k] : bone_b[k-4]) + .5);
    vec4 x=texelFetch(bones,ivec2(0,b),0), y=texelFetch(bones,ivec2(1,b),0),
         z=texelFetch(bones,ivec2(2,b),0);
    m += w*mat4x3(x.x,y.x,z.x, x.y,y.y,z.y, x.z,y.z,z.z, x.w,y.w,z.w);
  }
  return m;
}
void main(){
  mat4x3 m = skin(); at = m*vec4(rest,1.); n = mat3(m)*normal;
  still = rest; wears = worn; has = drawn; tint = vec3(0.);
  lit = light_clip*vec4(at,1.); gl_Position = clip*vec4(at,1.);
}"""

ROOM_VERTEX = """#version 330
in vec3 place; in vec3 normal; in vec3 paint;
uniform mat4 clip; uniform mat4 light_clip;
out vec3 at; out vec3 n; out vec3 still; out vec4 wears; out vec2 has; out vec4 lit; out vec3 tint;
void main(){
  at = place; n = normal; still = place; wears = vec4(0.); has = vec2(0.); tint = paint;
  lit = light_clip*vec4(at,1.); gl_Position = clip*vec4(at,1.);
}"""

DEPTH_FRAGMENT = "#version 330\nvoid main(){}"

FRAGMENT = """#version 330
in vec3 at; in vec3 n; in vec3 still; in vec4 wears; in vec2 has; in vec4 lit; in vec3 tint;
out vec4 colour;
uniform bool is_body; uniform vec3 eye; uniform vec3 light; uniform sampler2D shadow_map;
uniform vec3 skin,shirt,shorts,shoes,hair,eye_left,eye_right; uniform float brightness,ambient;
float hash(vec2 p){ return fract(sin(dot(p,vec2(12.9898,78.233)))*43758.5453); }
float noise(vec2 p){
  vec2 i=floor(p), f=fract(p); f=f*f*(3.-2.*f);
  return mix(mix(hash(i),hash(i+vec2(1,0)),f.x), mix(hash(i+vec2(0,1)),hash(i+vec2(1,1)),f.x), f.y);
}
float sunlit(){
  vec3 q=lit.xyz/lit.w*.5+.5; if(q.x<0.||q.x>1.||q.y<0.||q.y>1.) return 1.;
  float s=0.; vec2 px=1.5/vec2(textureSize(shadow_map,0));
  for(int i=0;i<2;i++) for(int j=0;j<2;j++)
    s += texture(shadow_map,q.xy+(vec2(i,j)-.5)*px).r > q.z-.004 ? 1. : 0.;
  return s/4.;
}
void main(){
  vec3 N=normalize(n), away=normalize(eye-at); vec3 c=tint; float shine=.03;
  if(is_body){
    if(dot(N,away)<0.) N=-N*.6;
    c=skin*(.93+.14*noise(still.xz*90.+still.y*60.)); shine=.10;
    if(has.x>.5) c=hair*.7+skin*.12;
    if(wears.x>0.){ c=shirt*(.86+.26*noise(still.xz*26.+still.y*18.)); shine=.02; }
    if(wears.y>0.){ c=shorts*(.86+.26*noise(still.xz*26.)); shine=.02; }
    if(wears.w>0.){ c=shoes; shine=.08; }
    if(wears.z>0.){ c=hair*(.6+.8*noise(vec2(still.x*160.,still.z*22.+still.y*22.))); }
    if(has.y>.5){
      c=vec3(.82); float d=min(length(still.xz-eye_left.xz),length(still.xz-eye_right.xz));
      if(d<.0062) c=vec3(.16,.10,.06); if(d<.0027) c=vec3(.01);
    }
  } else {
    c*=.84+.22*noise(still.xy*9.+still.yz*5.)+.10*noise(still.xz*50.+still.y*31.);
  }
  float s=sunlit(), direct=max(dot(N,light),0.);
  vec3 sky=mix(vec3(.30,.28,.26),vec3(.46,.48,.52),N.z*.5+.5)*ambient;
  float fill=.22*max(dot(N,normalize(vec3(.7,-.6,.25))),0.);
  vec3 H=normalize(light+away);
  vec3 L=c*(sky+fill+vec3(1.,.96,.9)*direct*(.2+.8*s)*.72)+shine*pow(max(dot(N,H),0.),16.)*s;
  colour=vec4(pow(clamp(L*brightness,0.,1.),vec3(1./1.25)),1.);
}"""
