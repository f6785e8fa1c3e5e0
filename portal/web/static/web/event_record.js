// The print button of a record; a browser's own menu prints the page as well.
{
  const button = document.querySelector("[data-print]");
  if (button) {
    button.hidden = false;
    button.addEventListener("click", () => window.print());
  }
}
