(() => {
  "use strict";
  const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
  const LEAD_S = 3;
  let running = null;

  const plan = (pacer) => {
    const steps = [...pacer.querySelectorAll(".steps li")].map((item) => ({
      item, kind: item.dataset.kind, seconds: Number(item.dataset.seconds),
      label: item.querySelector(".step").textContent,
    }));
    const ways = pacer.dataset.ways ? pacer.dataset.ways.split("|") : [""];
    const line = [{ kind: "lead", seconds: LEAD_S, label: pacer.dataset.ready, tally: "" }];
    ways.forEach((way, at) => {
      for (let number = 1; number <= Number(pacer.dataset.count); number += 1) {
        const tally = `${way ? `${way} ` : ""}${number} ${pacer.dataset.of} ${pacer.dataset.count}`;
        steps.forEach((step) => line.push({ ...step, tally, back: at > 0 }));
      }
    });
    return line;
  };

  const show = (pacer, step, share, left) => {
    const stage = pacer.querySelector(".stage");
    const size = { on: 0.45 + 0.55 * share, hold: 1, off: 1 - 0.55 * share }[step.kind] ?? 0.45;
    stage.classList.toggle("turns", step.kind === "turn");
    stage.querySelector(".run").style.strokeDasharray = `${100 * share} 100`;
    if (!calm) {
      stage.querySelector(".bloom").style.transform = `scale(${step.kind === "turn" ? 0.8 : size})`;
    }
    const turn = 360 * (step.back ? -share : share);
    stage.querySelector(".dot").style.transform = `rotate(${calm ? Math.round(turn / 90) * 90 : turn}deg)`;
    stage.querySelector(".left").textContent = String(Math.max(Math.ceil(left), 1));
  };

  const enter = (pacer, step) => {
    pacer.querySelector(".word").textContent = step.label;
    pacer.querySelector(".tally").textContent = step.tally;
    pacer.querySelectorAll(".steps li").forEach((item) => item.classList.toggle("on", item === step.item));
  };

  const stop = (said) => {
    if (!running) return;
    cancelAnimationFrame(running.frame);
    const { pacer, button } = running;
    pacer.querySelectorAll(".steps li").forEach((item) => item.classList.remove("on"));
    button.textContent = said ? pacer.dataset.again : pacer.dataset.go;
    pacer.querySelector(".left").textContent = "";
    pacer.querySelector(".word").textContent = said;
    if (!said) pacer.querySelector(".stage").hidden = true;
    running = null;
  };

  const start = (pacer, button) => {
    const line = plan(pacer);
    const run = { pacer, button, frame: 0 };
    let at = -1;
    let until = 0;
    running = run;
    button.textContent = pacer.dataset.stop;
    pacer.querySelector(".stage").hidden = false;
    const tick = (now) => {
      while (at < 0 || now >= until) {
        at += 1;
        if (at >= line.length) { stop(pacer.dataset.done); return; }
        until = (at === 0 ? now : until) + 1000 * line[at].seconds;
        enter(pacer, line[at]);
      }
      const left = (until - now) / 1000;
      show(pacer, line[at], 1 - left / line[at].seconds, left);
      run.frame = requestAnimationFrame(tick);
    };
    run.frame = requestAnimationFrame(tick);
  };

  document.querySelectorAll(".pacer").forEach((pacer) => {
    const go = pacer.querySelector(".go");
    const button = go.querySelector("button");
    go.hidden = false;
    button.addEventListener("click", () => {
      const own = running && running.pacer === pacer;
      stop("");
      if (!own) start(pacer, button);
    });
  });
  document.addEventListener("stop-now", () => stop(""));
})();
