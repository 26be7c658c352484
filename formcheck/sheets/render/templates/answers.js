(() => {
  "use strict";
  const form = document.getElementById("answers");
  const card = document.getElementById("stop-card");
  const status = document.getElementById("saved");
  const scales = [...new Set([...form.querySelectorAll(".scale input")].map((input) => input.name))];
  const flags = [...form.querySelectorAll("input[name=flag]")];
  const none = form.querySelector("input[name=none]");
  const day = form.elements.day;
  const today = new Date();
  const iso = [today.getFullYear(), today.getMonth() + 1, today.getDate()]
    .map((part) => String(part).padStart(2, "0")).join("-");
  day.value = iso;
  document.querySelectorAll(".clip-name").forEach((name) => { name.textContent = `${name.dataset.stem}_${iso}`; });
  form.querySelector(".save").hidden = false;

  const chosen = (name) => {
    const input = form.querySelector(`input[name="${name}"]:checked`);
    return input ? Number(input.value) : null;
  };
  const answers = () => {
    const said = { formcheck: "answers", version: 1, client: form.dataset.client, day: day.value,
      exercise: form.elements.exercise.value };
    scales.forEach((name) => { said[name] = chosen(name); });
    said.stopped_by = form.elements.stopped_by.value.trim();
    said.words = form.elements.words.value.trim();
    const any = flags.some((flag) => flag.checked);
    said.red_flags = any || none.checked
      ? Object.fromEntries(flags.map((flag) => [flag.value, flag.checked])) : {};
    return said;
  };
  const isEmpty = (said) => scales.every((name) => said[name] === null) && !said.stopped_by && !said.words
    && Object.keys(said.red_flags).length === 0;

  const look = () => {
    const most = Number(form.dataset.mostPain);
    const reasons = flags.filter((flag) => flag.checked)
      .map((flag) => flag.parentElement.textContent.trim());
    scales.filter((name) => name.startsWith("pain") && chosen(name) > most).forEach((name) => {
      const legend = form.querySelector(`input[name="${name}"]`).closest("fieldset").querySelector("legend");
      reasons.push(`${legend.textContent}: ${chosen(name)}`);
    });
    const list = card.querySelector("ul");
    list.replaceChildren(...reasons.map((reason) => {
      const item = document.createElement("li");
      item.textContent = reason;
      return item;
    }));
    const was = card.hidden;
    card.hidden = reasons.length === 0;
    document.body.classList.toggle("stopped", reasons.length > 0 || form.dataset.stopped === "yes");
    if (was && !card.hidden) {
      document.dispatchEvent(new Event("stop-now"));
      card.scrollIntoView({ block: "start", behavior: "instant" });
      card.focus({ preventScroll: true });
    }
  };
  form.addEventListener("change", (event) => {
    if (event.target === none && none.checked) flags.forEach((flag) => { flag.checked = false; });
    if (event.target.name === "flag" && event.target.checked) none.checked = false;
    look();
  });
  form.addEventListener("submit", (event) => event.preventDefault());

  const ready = () => {
    const said = answers();
    if (!said.day) { status.textContent = status.dataset.noDay; day.focus(); return null; }
    if (isEmpty(said)) { status.textContent = status.dataset.empty; return null; }
    const time = new Date().toTimeString().slice(0, 8).replaceAll(":", "");
    return { said, file: `${form.dataset.slug}_answers_${said.day}_${time}.json` };
  };
  document.getElementById("save").addEventListener("click", () => {
    const made = ready();
    if (!made) return;
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([JSON.stringify(made.said, null, 1)], { type: "application/json" }));
    link.download = made.file;
    link.click();
    status.textContent = status.dataset.saved.replace("{file}", made.file);
  });
  document.getElementById("copy").addEventListener("click", async () => {
    const made = ready();
    if (!made) return;
    const text = JSON.stringify(made.said);
    try {
      await navigator.clipboard.writeText(text);
    } catch {
      const area = document.createElement("textarea");
      area.value = text;
      document.body.append(area);
      area.select();
      document.execCommand("copy");
      area.remove();
    }
    status.textContent = status.dataset.copied;
  });
})();
