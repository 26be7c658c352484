(() => {
  "use strict";
  const table = document.getElementById("clips");
  const groups = [...table.tBodies];
  const rows = groups.flatMap((group) => [...group.querySelectorAll("tr[data-place]")]);
  const home = new Map(rows.map((row) => [row, row.parentElement]));
  const words = document.getElementById("words");
  const level = document.getElementById("level");
  const order = document.getElementById("order");
  const shown = document.getElementById("shown");
  const visible = () => [...table.querySelectorAll("tr[data-place]:not([hidden])")];

  const sift = () => {
    const wanted = words.value.toLowerCase().split(/\s+/).filter(Boolean);
    for (const row of rows) {
      const text = `${row.textContent} ${home.get(row).querySelector(".whose")?.textContent ?? ""}`.toLowerCase();
      row.hidden = !((!level.value || row.dataset.level === level.value) && wanted.every((w) => text.includes(w)));
    }
    for (const group of groups) group.hidden = !group.querySelector("tr[data-place]:not([hidden])");
    const count = visible().length;
    shown.textContent = count === rows.length ? ""
      : shown.dataset.told.replace("##", rows.length).replace("#", count);
  };
  words.addEventListener("input", sift);
  level.addEventListener("change", sift);
  words.form.addEventListener("submit", (event) => event.preventDefault());

  const byName = new Intl.Collator(undefined, { numeric: true }).compare;
  const arrange = () => {
    const inOrder = [...rows].sort(order.value === "name"
      ? (a, b) => byName(a.dataset.name, b.dataset.name)
      : (a, b) => a.dataset.place - b.dataset.place);
    const together = order.value !== "client" && groups.length > 1;
    for (const group of groups) {
      const whose = group.querySelector(".whose");
      if (whose) whose.hidden = together;
    }
    for (const row of inOrder) (together ? groups[0] : home.get(row)).append(row);
    sift();
  };
  order.addEventListener("change", arrange);

  // The order as it stands goes along with a link, so that the coach's pages know the next clip.
  const MOST_EACH_WAY = 100;
  const handOn = (event) => {
    const link = event.target.closest("a[data-folder]");
    if (!link) return;
    const folders = [...table.querySelectorAll("tr[data-place]:not([hidden]) a[data-folder]")].map((a) => a.dataset.folder);
    const here = folders.indexOf(link.dataset.folder);
    const near = folders.slice(Math.max(here - MOST_EACH_WAY, 0), here + MOST_EACH_WAY + 1);
    link.href = `${link.dataset.folder}/coach.html#clips=${near.join("/")}`;
  };
  for (const name of ["pointerdown", "focusin", "click"]) table.addEventListener(name, handOn);
})();
