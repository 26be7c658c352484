(() => {
  "use strict";
  const table = document.getElementById("clips");
  const body = table.tBodies[0];
  const rows = [...body.rows];
  const headings = [...table.tHead.rows[0].cells];
  const words = document.getElementById("words");
  const level = document.getElementById("level");
  const shown = document.getElementById("shown");

  const sift = () => {
    const wanted = words.value.toLowerCase().split(/\s+/).filter(Boolean);
    let count = 0;
    for (const row of rows) {
      const text = row.textContent.toLowerCase();
      const fits = (!level.value || row.dataset.level === level.value) && wanted.every((w) => text.includes(w));
      row.hidden = !fits;
      count += fits;
    }
    shown.textContent = count === rows.length ? "" : `${count} of ${rows.length} shown`;
  };
  words.addEventListener("input", sift);
  level.addEventListener("change", sift);
  words.form.addEventListener("submit", (event) => event.preventDefault());

  const value = (row, column) => {
    const cell = row.cells[column];
    return cell.dataset.value ?? cell.textContent.trim();
  };
  const ORDER = {
    number: (a, b) => a - b,
    text: new Intl.Collator(undefined, { numeric: true }).compare,
  };
  headings.forEach((heading, column) => {
    const button = heading.querySelector("button");
    if (!button) return;
    button.addEventListener("click", () => {
      const up = heading.getAttribute("aria-sort") !== "ascending";
      for (const other of headings) other.removeAttribute("aria-sort");
      heading.setAttribute("aria-sort", up ? "ascending" : "descending");
      const order = ORDER[heading.dataset.kind];
      rows.sort((one, two) => {
        const a = value(one, column), b = value(two, column);
        if (!a || !b) return !a - !b; // nothing known comes last either way
        return up ? order(a, b) : order(b, a);
      });
      body.append(...rows);
    });
  });
})();
