// A draft of the visit on this phone, so that a dead browser loses nothing. One for each form opened, kept for two
// weeks, offered to the same person for the same appliance alone, and dropped once the event is filed.
{
  const PREFIX = "event-draft:";
  const KEPT_MS = 14 * 24 * 3600 * 1000;
  const form = document.querySelector("[data-event-form]");
  const filed = document.querySelector("[data-filed-submission]");

  function drafts() {
    const found = [];
    for (let index = 0; index < localStorage.length; index += 1) {
      const key = localStorage.key(index);
      if (!key.startsWith(PREFIX)) continue;
      try {
        found.push({ key, ...JSON.parse(localStorage.getItem(key)) });
      } catch {
        found.push({ key, at: 0, values: {} });
      }
    }
    return found;
  }

  // A full or forbidden store must never stop anyone from filing.
  function attempt(act) {
    try {
      return act();
    } catch {
      return undefined;
    }
  }

  function dropFiled() {
    const sent = sessionStorage.getItem("event-draft-sent");
    for (const { key } of drafts()) {
      if (key === sent || key.endsWith(`:${filed.dataset.filedSubmission}`)) localStorage.removeItem(key);
    }
    sessionStorage.removeItem("event-draft-sent");
  }

  function startForm() {
    const owner = `${PREFIX}${form.dataset.user}:${form.dataset.draftKey}:`;
    const key = () => owner + form.elements.submission_id.value;
    const state = form.querySelector("[data-draft-state]");
    const isKept = (box) => box.name && box.type !== "file" && !["csrfmiddlewaretoken", "submission_id"].includes(box.name) && !/-(TOTAL|INITIAL|MIN_NUM|MAX_NUM)_FORMS$/.test(box.name);

    function values() {
      const kept = {};
      for (const box of form.elements) {
        if (!isKept(box)) continue;
        if (box.type === "checkbox" || box.type === "radio") {
          kept[box.name] ??= [];
          if (box.checked) kept[box.name].push(box.value);
        } else if (box.value !== "") kept[box.name] = [box.value];
      }
      return kept;
    }

    const store = () => attempt(() => {
      localStorage.setItem(key(), JSON.stringify({ at: Date.now(), values: values() }));
      return true;
    });

    function save() {
      if (store()) state.textContent = "Draft kept on this phone";
    }

    function restore(draft) {
      form.elements.submission_id.value = draft.key.slice(owner.length);
      const indexes = {};
      for (const [name, kept] of Object.entries(draft.values)) {
        const match = /^([a-z]+)-(\d+)-/.exec(name);
        if (match && kept.length) (indexes[match[1]] ??= new Set()).add(Number(match[2]));
      }
      const told = (name, index) => Object.entries(draft.values).some(([box, kept]) => box.startsWith(`${name}-${index}-`) && kept.length && kept[0] !== "" && !/-(direction|reason)$|_unit$/.test(box));
      for (const [name, rows] of Object.entries(indexes)) window.portalEventForm.ensureRows(name, [...rows].filter((index) => told(name, index)));
      const setAll = () => {
        for (const box of form.elements) {
          if (!isKept(box)) continue;
          const kept = draft.values[box.name] ?? [];
          if (box.type === "checkbox" || box.type === "radio") box.checked = kept.includes(box.value);
          else box.value = kept[0] ?? "";
        }
      };
      setAll();
      window.portalEventForm.refresh();
      // Leaks found on this visit enter the lists of leaks only now.
      setAll();
      window.portalEventForm.refresh();
      document.dispatchEvent(new CustomEvent("event-draft:restored"));
      window.htmx?.trigger("#id_happened_on", "change");
    }

    const offer = document.querySelector("[data-draft-offer]");
    const older = attempt(() => {
      const all = drafts();
      for (const draft of all) if (Date.now() - draft.at > KEPT_MS) localStorage.removeItem(draft.key);
      return all.filter((draft) => draft.key.startsWith(owner) && draft.key !== key() && Date.now() - draft.at <= KEPT_MS).sort((a, b) => b.at - a.at)[0];
    });
    if (older && !document.querySelector("[data-form-errors]")) {
      offer.querySelector("[data-draft-age]").textContent = new Date(older.at).toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
      offer.hidden = false;
    }
    offer.querySelector("[data-draft-restore]").addEventListener("click", () => {
      attempt(() => localStorage.removeItem(key()));
      restore(older);
      offer.hidden = true;
      save();
    });
    offer.querySelector("[data-draft-drop]").addEventListener("click", () => {
      attempt(() => localStorage.removeItem(older.key));
      offer.hidden = true;
    });

    let timer = 0;
    const soon = () => { clearTimeout(timer); timer = setTimeout(save, 400); };
    form.addEventListener("input", soon);
    form.addEventListener("change", soon);
    form.addEventListener("submit", () => {
      clearTimeout(timer);
      store();
      attempt(() => sessionStorage.setItem("event-draft-sent", key()));
    });
  }

  if (filed) attempt(dropFiled);
  if (form) startForm();
}
