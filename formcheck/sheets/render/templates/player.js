document.addEventListener("DOMContentLoaded", () => {
  "use strict";
  const region = document.getElementById("player");
  const clip = region.querySelector("video");
  const slider = region.querySelector("input");
  const shown = region.querySelector("output");
  const charts = [...document.querySelectorAll("svg.chart")];
  const moments = JSON.parse(region.dataset.moments);
  const play = region.querySelector('[data-do="play"]');
  const slow = region.querySelector('[data-do="slow"]');
  const words = { play: play.textContent, pause: play.dataset.pause };
  const STEP_S = 1 / 30;

  clip.controls = false;  // without scripts the browser's own stay
  clip.addEventListener("click", () => actions.play());
  const parts = [...document.querySelectorAll("[data-start]:not(.chart)")];

  const held = document.getElementById("clip-data");
  if (held) {
    const bytes = Uint8Array.from(atob(held.textContent), (c) => c.charCodeAt(0));
    clip.src = URL.createObjectURL(new Blob([bytes], { type: "video/mp4" }));
    held.remove();
  }
  clip.addEventListener("error", () => { region.querySelector(".missing").hidden = false; });

  const clock = (t) => {  // rounded, as every moment on the page
    const seconds = Math.round(t);
    return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
  };
  const place = (t) => {
    slider.value = t;
    shown.textContent = clock(t);
    slider.setAttribute("aria-valuetext", shown.textContent);
    for (const part of parts) {
      const now = t >= Number(part.dataset.start) && t < Number(part.dataset.end);
      if (now) part.setAttribute("aria-current", "true");
      else part.removeAttribute("aria-current");
    }
    for (const chart of charts) {
      const { left, right, start, end } = chart.dataset;
      const share = Math.min(Math.max((t - start) / (end - start), 0), 1);
      const cursor = chart.querySelector(".cursor");
      cursor.setAttribute("transform", `translate(${share * (right - left)} 0)`);
      cursor.setAttribute("visibility", "visible");
    }
  };
  const seek = (t) => {
    clip.currentTime = Math.min(Math.max(t, 0), Number(slider.max));
    place(clip.currentTime);
  };
  const follow = () => {
    place(clip.currentTime);
    if (!clip.paused) requestAnimationFrame(follow);
  };
  clip.addEventListener("play", () => { play.textContent = words.pause; follow(); });
  clip.addEventListener("pause", () => { play.textContent = words.play; follow(); });
  for (const name of ["seeked", "timeupdate"]) clip.addEventListener(name, follow);

  const next = (direction) => {
    const now = clip.currentTime;
    const ahead = direction > 0
      ? moments.find((t) => t > now + 0.05)
      : moments.findLast((t) => t < now - 0.5);
    seek(ahead === undefined ? (direction > 0 ? now : 0) : ahead);
  };
  const actions = {
    play: () => (clip.paused ? clip.play() : clip.pause()),
    slow: () => {
      clip.playbackRate = clip.playbackRate === 1 ? 0.5 : 1;
      slow.setAttribute("aria-pressed", String(clip.playbackRate !== 1));
    },
    before: () => next(-1),
    after: () => next(1),
    back: () => seek(clip.currentTime - STEP_S),
    forth: () => seek(clip.currentTime + STEP_S),
  };
  const keys = {
    " ": "play", s: "slow", S: "slow",
    ArrowUp: "before", ArrowDown: "after", ArrowLeft: "back", ArrowRight: "forth",
  };
  region.addEventListener("click", (event) => {
    const button = event.target.closest("[data-do]");
    if (button) actions[button.dataset.do]();
  });
  region.addEventListener("keydown", (event) => {
    const native = event.target === slider || (event.target.closest("button") && event.key === " ");
    if (!(event.key in keys) || native || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    actions[keys[event.key]]();
  });
  slider.addEventListener("input", () => seek(Number(slider.value)));

  document.addEventListener("click", (event) => {
    const button = event.target.closest(".seek");
    if (!button) return;
    clip.pause();
    seek(Number(button.dataset.seek));
    region.scrollIntoView({ block: "nearest" });
  });
  for (const chart of charts) {
    chart.classList.add("seekable");
    chart.addEventListener("click", (event) => {
      const box = chart.getBoundingClientRect();
      const x = ((event.clientX - box.left) / box.width) * chart.viewBox.baseVal.width;
      const { left, right, start, end } = chart.dataset;
      const share = Math.min(Math.max((x - left) / (right - left), 0), 1);
      clip.pause();
      seek(Number(start) + share * (end - start));
    });
  }
  place(0);
});
