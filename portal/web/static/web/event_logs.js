// The scale's log of a transfer: sent when chosen, read again when the row changes, its mass taken over at a press.
// Without this file the log goes with the form, and the answer shows what it says.
{
  const scope = document.querySelector("[data-log-scope]");
  const slotOf = (element) => element.closest("[data-row]")?.querySelector("[data-log-slot]");
  const tokenOf = (slot) => slot.querySelector('input[type="hidden"][name$="-log"]');
  const read = (slot) => window.htmx.trigger(slot, "weigh-log:read");

  function start(slot) {
    for (const button of slot.querySelectorAll("[data-log-use], [data-log-drop]")) button.hidden = false;
  }

  function useMass(button) {
    const card = button.closest("[data-row]");
    const box = (end) => card.querySelector(`[name$="-mass_${end}"]`);
    box("value").value = button.dataset.value;
    box("ounces").value = "";
    box("unit").value = button.dataset.unit;
    box("value").dispatchEvent(new Event("input", { bubbles: true }));
    box("value").dispatchEvent(new Event("change", { bubbles: true }));
    box("value").focus();
  }

  scope.addEventListener("click", (event) => {
    const use = event.target.closest("[data-log-use]");
    const drop = event.target.closest("[data-log-drop]");
    const removed = event.target.closest("[data-remove-row]");
    if (use) useMass(use);
    if (drop || removed) {
      const slot = slotOf(event.target);
      if (!slot || !tokenOf(slot).value && !slot.dataset.token) return;
      tokenOf(slot).value = "";
      read(slot);
    }
  });

  // What the log is held against is in the same row, but for the day.
  scope.addEventListener("change", (event) => {
    if (event.target.name === "happened_on") {
      for (const other of scope.querySelectorAll("[data-log-slot]")) if (tokenOf(other).value) read(other);
    }
    const slot = slotOf(event.target);
    if (!slot) return;
    const name = event.target.name ?? "";
    const isFile = event.target.type === "file" && event.target.files.length > 0;
    if (isFile || (tokenOf(slot).value && /-(direction|scale|mass_\w+|log_\w+)$/.test(name) && event.target.type !== "file")) read(slot);
  });

  document.body.addEventListener("htmx:afterSettle", (event) => {
    const slot = document.getElementById(event.detail.target?.id);
    if (!slot?.matches("[data-log-slot]")) return;
    start(slot);
    // The draft on the phone keeps which file was sent.
    scope.dispatchEvent(new Event("input", { bubbles: true }));
  });
  document.body.addEventListener("htmx:sendError", (event) => {
    const slot = event.detail.elt;
    if (!slot.matches?.("[data-log-slot]")) return;
    const line = slot.querySelector(".log-busy");
    line.textContent = "No connection. Choose the file again when it is back.";
    line.classList.add("log-failed");
  });
  document.addEventListener("event-draft:restored", () => {
    for (const slot of scope.querySelectorAll("[data-log-slot]")) if (tokenOf(slot).value) read(slot);
  });

  scope.querySelectorAll("[data-log-slot]").forEach(start);
}
