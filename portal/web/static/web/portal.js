// Small conveniences of the page frame; every page works without them.

// An open menu closes on a press outside it and on Escape.
document.addEventListener("click", (event) => {
  for (const menu of document.querySelectorAll("details[data-closes-outside][open]")) {
    if (!menu.contains(event.target)) menu.open = false;
  }
});
document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  for (const menu of document.querySelectorAll("details[data-closes-outside][open]")) {
    menu.open = false;
    menu.querySelector("summary").focus();
  }
});

// After a refused form, reading starts at the list of what is wrong.
document.querySelector("[data-form-errors]")?.focus();
