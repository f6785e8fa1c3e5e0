// Shows what a choice asks for and hides the rest: a box with data-only-field="basis" data-only-values="parts,other"
// stands only while one of these values is chosen. Without it, everything shows, and the server leaves out what isn't asked for.
(() => {
  "use strict";
  const parts = [...document.querySelectorAll("[data-only-field]")];
  const chosen = (form, name) => {
    const boxes = [...form.querySelectorAll(`[name="${name}"]`)];
    const box = boxes.find((each) => each.checked) ?? boxes.find((each) => each.type !== "radio" && each.type !== "checkbox");
    return box ? box.value : "";
  };
  const refresh = () => {
    for (const part of parts) {
      const form = part.closest("form");
      part.hidden = !part.dataset.onlyValues.split(",").includes(chosen(form, part.dataset.onlyField));
    }
  };
  document.addEventListener("change", refresh);
  refresh();
})();
