"""A small OpenGL renderer: a skinned body in a plain room, with a shadow. Software EGL will do."""

from dataclasses import dataclass

import moderngl
import numpy as np
from numpy.typing import NDArray

from models.calibration.body import Body, Pose, Z
from models.calibration.cameras import Camera
from models.calibration.dress import Look, dress
from models.calibration.rotations import unit
from models.calibration.shaders import BODY_VERTEX, DEPTH_FRAGMENT, FRAGMENT, ROOM_VERTEX

Array = NDArray[np.float64]
SHADOW_PX = 512
_COLOURS = ("skin", "shirt", "shorts", "shoes", "hair")


@dataclass(frozen=True, slots=True)
class Room:
    """Light and colours of a room; ``panels`` are (corner, edge, edge, normal, colour) rows."""

    light: Array
    brightness: float
    ambient: float
    panels: tuple[tuple[Array, Array, Array, Array, Array], ...]


def sample_room(rng: np.random.Generator) -> Room:
    """Floor, two walls and a few flat things on or before them, in random colours."""

    def colour() -> Array:
        return np.asarray(np.clip(rng.uniform(0.1, 0.8) + rng.normal(0, 0.07, 3), 0.03, 0.95))

    x, y, z = np.eye(3)
    depth, side = rng.uniform(1.2, 3.0), rng.uniform(1.6, 4.0)
    panels = [
        (np.array([-6.0, -6, 0]), 12 * x, 12 * y, z, colour()),
        (np.array([-6.0, depth, 0]), 12 * x, 4 * z, -y, colour()),
        (np.array([side, -6.0, 0]), 12 * y, 4 * z, -x, colour()),
        (np.array([-side - 0.4, -6.0, 0]), 12 * y, 4 * z, x, colour()),
    ]
    for _ in range(rng.integers(0, 7)):
        low, wide, tall = rng.uniform(0, 1.6), rng.uniform(0.2, 1.4), rng.uniform(0.2, 1.8)
        corner = np.array([rng.uniform(-2.5, 2.0), depth - rng.uniform(0.02, 0.3), low])
        panels.append((corner, wide * x, tall * z, -y, colour()))
    if rng.random() < 0.3:
        corner = np.array([-rng.uniform(0.5, 1.2), -rng.uniform(0.3, 1.0), 0.006])
        panels.append((corner, 2.2 * x, 1.4 * y, z, colour()))
    light = unit(np.array([rng.uniform(-1, 1), rng.uniform(-1, 0.3), rng.uniform(0.7, 1.6)]))
    return Room(light, float(rng.uniform(0.45, 1.25)), float(rng.uniform(0.5, 1.3)), tuple(panels))


class Renderer:
    """Draws one dressed body in one room through one camera."""

    def __init__(self, context: moderngl.Context, body: Body, look: Look, room: Room) -> None:
        self.context, self.body, self.look, self.room = context, body, look, room
        self.program = context.program(BODY_VERTEX, FRAGMENT)
        self.depth_program = context.program(BODY_VERTEX, DEPTH_FRAGMENT)
        self.room_program = context.program(ROOM_VERTEX, FRAGMENT)
        self.dressed = dress(body, look)
        self._load_body()
        self._load_room()
        self.bones = context.texture((3, len(body.names)), 4, dtype="f4")
        self.bones.filter = (moderngl.NEAREST, moderngl.NEAREST)
        self.shadow = context.depth_texture((SHADOW_PX, SHADOW_PX))
        self.shadow.compare_func = ""
        self.shadow_frame = context.framebuffer(depth_attachment=self.shadow)

    def aim(self, camera: Camera) -> None:
        """Take pictures with this camera from now on."""
        size = (camera.width, camera.height)
        self.camera = camera
        self.frame = self.context.framebuffer(
            [self.context.renderbuffer(size, 4, samples=4)],
            self.context.depth_renderbuffer(size, samples=4),
        )
        self.flat = self.context.framebuffer([self.context.renderbuffer(size, 4)])

    def release(self) -> None:
        """Give the graphics memory back."""
        for thing in (self.frame, self.flat, self.shadow_frame, self.shadow, self.bones):
            thing.release()
        for thing in (*self.buffers, self.program, self.depth_program, self.room_program):
            thing.release()

    def picture(self, bones: Array) -> NDArray[np.uint8]:
        """The picture (height, width, 3) of the body with bone matrices (bones, 3, 4)."""
        camera, context = self.camera, self.context
        self.bones.write(np.ascontiguousarray(bones, dtype="f4").tobytes())
        self.bones.use(1)
        middle = bones[self.body.index["spine02"]] @ np.append(self.body.head("spine02"), 1)
        light_clip = _light_clip(self.room.light, middle)
        context.enable(moderngl.DEPTH_TEST)
        self.shadow_frame.use()
        self.shadow_frame.clear(depth=1.0)
        self.depth_program["clip"].write(_column_major(light_clip))
        self.depth_program["bones"].value = 1
        self.body_depth.render()
        self.frame.use()
        self.frame.clear(0.5, 0.5, 0.5, 1.0, depth=1.0)
        self.shadow.use(0)
        for program in (self.room_program, self.program):
            self._set(program, camera, light_clip)
        self.room_array.render()
        self.program["bones"].value = 1
        self.body_array.render()
        context.copy_framebuffer(self.flat, self.frame)
        raw = np.frombuffer(self.flat.read(components=3, alignment=1), np.uint8)
        return raw.reshape(camera.height, camera.width, 3)[::-1]

    def _set(self, program: moderngl.Program, camera: Camera, light_clip: Array) -> None:
        program["clip"].write(_column_major(camera.clip_matrix()))
        program["light_clip"].write(_column_major(light_clip))
        eyes = self.dressed.eyes
        values: dict[str, object] = {
            "shadow_map": 0,
            "eye": tuple(camera.place),
            "light": tuple(self.room.light),
            "brightness": self.room.brightness,
            "ambient": self.room.ambient,
            "is_body": program is self.program,
            "eye_left": tuple(eyes[0]),
            "eye_right": tuple(eyes[1]),
            **{name: tuple(getattr(self.look, name)) for name in _COLOURS},
        }
        for name, value in values.items():
            if name in program:  # the compiler drops what the room does not use
                program[name].value = value

    def _load_body(self) -> None:
        d, b = self.dressed, self.body
        rows = np.hstack([d.vertices, d.normals, d.masks, b.bones, b.weights]).astype("f4")
        vertices = self.context.buffer(rows.tobytes())
        faces = self.context.buffer(b.faces.astype("i4").tobytes())
        names = ("rest", "normal", "worn", "drawn", "bone_a", "bone_b", "weight_a", "weight_b")
        sizes = "3f 3f 4f 2f 4f 4f 4f 4f"
        self.body_array = self.context.vertex_array(
            self.program, [(vertices, sizes, *names)], index_buffer=faces
        )
        depth_sizes = "3f 3x4 4x4 2x4 4f 4f 4f 4f"
        self.body_depth = self.context.vertex_array(
            self.depth_program,
            [(vertices, depth_sizes, "rest", "bone_a", "bone_b", "weight_a", "weight_b")],
            index_buffer=faces,
        )
        self.buffers = [vertices, faces, self.body_array, self.body_depth]

    def _load_room(self) -> None:
        rows = []
        for corner, a, b, normal, colour in self.room.panels:
            square = [corner, corner + a, corner + a + b, corner, corner + a + b, corner + b]
            rows += [np.concatenate([p, normal, colour]) for p in square]
        buffer = self.context.buffer(np.array(rows, dtype="f4").tobytes())
        self.room_array = self.context.vertex_array(
            self.room_program, [(buffer, "3f 3f 3f", "place", "normal", "paint")]
        )
        self.buffers += [buffer, self.room_array]


def bone_matrices(body: Body, pose: Pose) -> Array:
    """Matrices (n, bones, 3, 4) that carry rest vertices to their posed places."""
    shift = pose.heads - np.einsum("nbij,bj->nbi", pose.turns, body.heads)
    return np.concatenate([pose.turns, shift[..., None]], axis=3)


def _light_clip(light: Array, middle: Array) -> Array:
    eye = middle + 4 * light
    right = unit(np.cross(light, Z if abs(light[2]) < 0.95 else np.eye(3)[1]))
    view = np.eye(4)
    view[:3, :3] = right, np.cross(light, right), light
    view[:3, 3] = -view[:3, :3] @ eye
    box = np.diag([1 / 1.6, 1 / 1.6, -2 / 6.0, 1.0])
    box[2, 3] = -(7.0 + 1.0) / 6.0
    return np.asarray(box @ view)


def _column_major(matrix: Array) -> bytes:
    return np.ascontiguousarray(matrix.T, dtype="f4").tobytes()
