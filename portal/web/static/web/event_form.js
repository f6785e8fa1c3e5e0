// The event form's rows, sections and dependent fields. Without this file the page shows spare rows and every field.
{
  const form = document.querySelector("[data-event-form]");
  const field = (name, scope = form) => scope.querySelector(`[data-field="${name}"]`);

  // --- Rows: added from a template, removed by clearing and hiding, so that a row keeps the number errors name ---
  const rowsOf = (name) => form.querySelector(`[data-rows="${name}"]`);
  const total = (rows) => rows.querySelector('input[name$="-TOTAL_FORMS"]');
  const rowCards = (rows) => [...rows.querySelectorAll(":scope > [data-row]")];
  const boxes = (card) => [...card.querySelectorAll("input, select, textarea")];

  // What a box held before anyone touched it: choices that always stand at something don't make a row count.
  function isBlank(card) {
    return boxes(card).every((box) => {
      if (/-(direction|reason|scale)$|mass_unit$|full_charge_unit$/.test(box.name)) return true;
      return box.type === "checkbox" || box.type === "radio" ? !box.checked : box.value === "";
    });
  }

  function clear(card) {
    for (const box of boxes(card)) {
      if (box.type === "checkbox" || box.type === "radio") box.checked = box.defaultChecked && /-direction$/.test(box.name);
      else if (/mass_unit$|full_charge_unit$|-(reason|scale)$/.test(box.name)) continue;
      else box.value = "";
    }
  }

  function newRow(rows) {
    const index = Number(total(rows).value);
    const html = rows.querySelector("template").innerHTML.replaceAll("__prefix__", index);
    rows.querySelector("template").insertAdjacentHTML("beforebegin", html);
    total(rows).value = index + 1;
    const card = rowCards(rows).at(-1);
    window.htmx?.process(card);
    card.querySelector("[data-row-number]").textContent = index + 1;
    card.querySelector("[data-remove-row]").hidden = false;
    return card;
  }

  // A row comes after all that are there: a hidden one below them, or one more.
  function addRow(rows) {
    const cards = rowCards(rows);
    const lastShown = cards.findLastIndex((one) => !one.hidden);
    const card = cards[lastShown + 1] ?? newRow(rows);
    card.hidden = false;
    refresh();
    return card;
  }

  function startRows(rows) {
    rows.querySelector("[data-add-row]").hidden = false;
    const cards = rowCards(rows);
    const filled = cards.filter((card) => !isBlank(card));
    cards.forEach((card, index) => {
      card.querySelector("[data-remove-row]").hidden = false;
      const isOnlyOne = filled.length === 0 && index === 0 && rows.dataset.rows !== "leaks" && rows.dataset.rows !== "statements";
      card.hidden = isBlank(card) && !isOnlyOne;
    });
  }

  // --- Fields that only matter beside another answer: hidden ones are not sent ---
  function show(element, isWanted) {
    if (!element) return;
    // What is wrong stays in sight.
    const isShown = isWanted || Boolean(element.querySelector(".field-error"));
    element.hidden = !isShown;
    for (const box of boxes(element)) box.disabled = !isShown;
  }

  function refreshVisit() {
    const isOwn = form.elements.origin.value === "own";
    show(field("contractor_name"), !isOwn);
    show(field("technician"), isOwn);
    const technician = form.elements.technician.selectedOptions[0];
    show(field("supervisor"), isOwn && technician?.dataset.apprentice === "yes");
    show(field("inspection_other"), Boolean(form.querySelector('[name="inspection_methods"][value="other"]:checked')));
    show(field("inspection_note"), !form.elements.is_inspection_complete.checked);
    show(field("opening_note"), form.elements.opening_kind.value === "leaking");
    form.classList.toggle("is-others-work", !isOwn);
  }

  function refreshRow(card) {
    const reason = card.querySelector('select[name$="-reason"]');
    if (reason) show(field("refrigerant", card), reason.value === "retrofit");
    const kind = card.querySelector('select[name$="-kind"]');
    if (kind) {
      for (const part of card.querySelectorAll('[class*="only-"]')) show(part, kind.value !== "" && part.classList.contains(`only-${kind.value}`));
    }
  }

  // --- Leaks found on this visit, by the names typed for them, in every list of leaks ---
  function refreshLeakLists() {
    const found = rowCards(rowsOf("leaks")).filter((card) => !card.hidden).map((card) => {
      const part = card.querySelector('input[name$="-part"]');
      const place = card.querySelector('input[name$="-location"]').value;
      const value = `new-${Number(part.name.split("-")[1]) + 1}`;
      const number = card.querySelector("[data-row-number]").textContent.trim();
      return { value, label: part.value ? `New leak ${number}: ${[part.value, place].filter(Boolean).join(", ")}` : `New leak ${number}` };
    });
    for (const list of form.querySelectorAll('select[name$="-leak"]:not([name^="leaks-"])')) {
      const before = list.value;
      list.querySelectorAll('optgroup[label="Found on this visit"]').forEach((group) => group.remove());
      if (found.length) {
        const group = document.createElement("optgroup");
        group.label = "Found on this visit";
        group.append(...found.map(({ value, label }) => new Option(label, value)));
        list.options[0].after(group);
      }
      list.value = before;
      if (list.selectedIndex < 0) list.value = "";
    }
  }

  // A leak found again is where it was, unless something else is typed.
  function takeOverPlace(list) {
    const { part, location } = list.selectedOptions[0].dataset;
    for (const [end, text] of [["part", part], ["location", location]]) {
      const box = list.closest("[data-row]").querySelector(`input[name$="-${end}"]`);
      if (text && box.value === "") box.value = text;
    }
  }

  // --- Sections open with the kinds of work ticked; a reason follows the work while nobody chose one ---
  const REASON_OF_WORK = { installation: "installation", retrofit: "retrofit", seasonal: "seasonal_variance", disposal: "disposal" };

  function followWork(tick) {
    if (tick.checked) {
      for (const section of form.querySelectorAll("details[data-work]")) {
        if (section.dataset.work.split(" ").includes(tick.value)) section.open = true;
      }
    }
    const reason = REASON_OF_WORK[tick.value];
    if (!reason) return;
    for (const list of form.querySelectorAll('select[name$="-reason"]')) {
      if (!list.dataset.chosen) list.value = tick.checked ? reason : "service";
    }
  }

  function refresh() {
    refreshVisit();
    form.querySelectorAll("[data-row]").forEach(refreshRow);
    refreshLeakLists();
    form.dispatchEvent(new CustomEvent("event-form:refreshed"));
  }

  // --- What the draft needs to put a visit back ---
  window.portalEventForm = {
    ensureRows(name, indexes) {
      const rows = rowsOf(name);
      const highest = Math.max(-1, ...indexes);
      while (Number(total(rows).value) <= highest) newRow(rows);
      rowCards(rows).forEach((card) => { if (indexes.some((index) => card.querySelector(`[name^="${name}-${index}-"]`))) card.hidden = false; });
    },
    refresh() {
      for (const section of form.querySelectorAll("details[data-section]")) {
        const cards = [...section.querySelectorAll("[data-row]")];
        if (cards.some((card) => !isBlank(card))) section.open = true;
      }
      for (const tick of form.querySelectorAll('[name="work_kinds"]:checked')) followWork(tick);
      refresh();
    },
  };

  form.addEventListener("click", (event) => {
    const add = event.target.closest("[data-add-row]");
    const remove = event.target.closest("[data-remove-row]");
    if (add) boxes(addRow(add.closest("[data-rows]")))[0]?.focus();
    if (remove) {
      const card = remove.closest("[data-row]");
      const rows = card.closest("[data-rows]");
      clear(card);
      card.hidden = true;
      refresh();
      rows.querySelector("[data-add-row]").focus();
      form.dispatchEvent(new Event("input", { bubbles: true }));
    }
  });
  form.addEventListener("change", (event) => {
    if (event.target.name === "work_kinds") followWork(event.target);
    if (/^leaks-\d+-leak$/.test(event.target.name)) takeOverPlace(event.target);
    if (event.target.name?.endsWith("-reason")) event.target.dataset.chosen = "yes";
    refresh();
  });
  form.addEventListener("input", (event) => {
    if (event.target.name?.startsWith("leaks-")) refreshLeakLists();
  });

  // --- Filing once: the button rests while the answer is on its way ---
  const button = form.querySelector("[data-file-button]");
  const label = button.textContent;
  form.addEventListener("submit", (event) => {
    if (!navigator.onLine) {
      event.preventDefault();
      form.querySelector("[data-draft-state]").textContent = "No connection. The draft is kept on this phone; file it when the connection is back.";
      return;
    }
    setTimeout(() => { button.disabled = true; button.textContent = "Filing …"; }, 0);
  });
  window.addEventListener("pageshow", () => { button.disabled = false; button.textContent = label; });

  form.querySelectorAll("[data-rows]").forEach(startRows);
  refresh();
}
