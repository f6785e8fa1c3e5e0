// Wide screens have room for the board's filters: show them without a tap.
(() => {
  const filters = document.querySelector("[data-open-when-wide]");
  if (filters && window.matchMedia("(min-width: 1200px)").matches) {
    filters.open = true;
    filters.dataset.keptOpen = "";
  }
})();
