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

// A button copies the field that it names, and says so; without a script the field is copied by hand.
for (const button of document.querySelectorAll("[data-copies]")) {
  const field = document.getElementById(button.dataset.copies);
  const said = button.parentElement.querySelector("[data-copied]");
  button.hidden = false;
  field.addEventListener("focus", () => field.select());
  button.addEventListener("click", async () => {
    let isCopied = true;
    try {
      await navigator.clipboard.writeText(field.value);
    } catch {
      // Browsers keep the clipboard to pages served over TLS; the older way works on all.
      field.select();
      isCopied = document.execCommand("copy");
    }
    said.textContent = isCopied ? "Copied." : "Select the address and copy it by hand.";
  });
}
