(() => {
  "use strict";
  // The page as it came, before anything on it is played, opened or typed; the last script runs first.
  const page = document.documentElement.cloneNode(true);
  const parts = (root) => {
    const form = root.querySelector("#note-form");
    return {
      form,
      text: form.querySelector("textarea"),
      paper: form.querySelector(".on-paper"),
      fields: [...form.querySelectorAll("input")],
    };
  };
  const { form, text, paper, fields } = parts(document);
  const status = form.querySelector("[role=status]");
  let kept = true;

  form.addEventListener("input", () => {
    kept = false;
    status.textContent = status.dataset.lost;
    paper.textContent = text.value;
    form.classList.toggle("written", text.value.trim() !== "");
  });
  form.querySelector("button").addEventListener("click", () => {
    const copy = parts(page);
    copy.text.textContent = text.value;
    copy.paper.textContent = text.value;
    copy.form.className = form.className;
    copy.fields.forEach((field, place) => field.setAttribute("value", fields[place].value));
    const link = document.createElement("a");
    const file = new Blob(["<!doctype html>\n", page.outerHTML], { type: "text/html" });
    link.href = URL.createObjectURL(file);
    link.download = form.dataset.file;
    link.click();
    kept = true;
    status.textContent = status.dataset.kept;
  });
  window.addEventListener("beforeunload", (event) => { if (!kept) event.preventDefault(); });
})();
