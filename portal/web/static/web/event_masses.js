// While masses are typed: what a cylinder will hold, the net added, and whether it goes over the leak rate threshold.
// The server weighs everything again when the event is filed.
{
  const form = document.querySelector("[data-event-form]");
  const MG = { kg: 1e6, g: 1e3, lb: 453592.37, oz: 28349.523125 };
  const inLb = (mg) => `${(mg / MG.lb).toFixed(3)} lb`;
  const inBoth = (mg) => `${inLb(mg)} (${(mg / MG.kg).toFixed(3)} kg)`;

  function typedMg(card) {
    const box = (end) => card.querySelector(`[name$="-mass_${end}"]`);
    const number = (text) => (text.trim() === "" ? 0 : Number(text));
    const [value, ounces, unit] = [number(box("value").value), number(box("ounces").value), box("unit").value];
    if (!Number.isFinite(value) || !Number.isFinite(ounces) || value < 0 || ounces < 0) return 0;
    return unit === "lb+oz" ? value * MG.lb + ounces * MG.oz : value * MG[unit];
  }

  function rows() {
    return [...form.querySelectorAll('[data-rows="transfers"] > [data-row]:not([hidden])')].map((card) => ({
      card,
      isIn: card.querySelector('[name$="-direction"]:checked')?.value === "in",
      cylinder: card.querySelector('[name$="-cylinder"]'),
      reason: card.querySelector('[name$="-reason"]').value,
      mg: typedMg(card),
    }));
  }

  // Rows above this one move the same cylinder's contents too.
  function cylinderLine(row, above) {
    const line = row.card.querySelector('[data-live="cylinder"]');
    const option = row.cylinder?.selectedOptions[0];
    line.hidden = !option?.value || row.cylinder.disabled;
    line.classList.remove("live-wrong");
    if (line.hidden) return;
    const moved = (one) => (one.isIn ? -one.mg : one.mg);
    const earlier = above.filter((one) => one.cylinder?.value === option.value).reduce((sum, one) => sum + moved(one), 0);
    const after = Number(option.dataset.holdsMg) + earlier + moved(row);
    const roomLeft = option.dataset.roomMg === "" ? null : Number(option.dataset.roomMg) - earlier - moved(row);
    const room = roomLeft > 0 ? ` Room left for ${inLb(roomLeft)}.` : "";
    let text = row.mg === 0 ? `${option.dataset.serial} holds ${inBoth(Math.max(0, after))}.${room}` : `Afterwards ${option.dataset.serial} holds ${inBoth(Math.max(0, after))}.`;
    let isWrong = false;
    if (after < -0.5) [text, isWrong] = [`${option.dataset.serial} holds ${inLb(after + row.mg)} by the books; ${inLb(row.mg)} can't come out of it.`, true];
    else if (!row.isIn && option.dataset.disposable) [text, isWrong] = [`${option.dataset.serial} is a disposable cylinder and is never filled.`, true];
    else if (!row.isIn && roomLeft !== null && roomLeft < -0.5) [text, isWrong] = [`That is ${inLb(-roomLeft)} more than ${option.dataset.serial} may hold. An overfilled cylinder can burst.`, true];
    else if (!row.isIn && roomLeft === null) text += ` No limit is known here: fill ${option.dataset.serial} by its own markings and the supplier’s word alone.`;
    line.textContent = text;
    line.classList.toggle("live-wrong", isWrong);
  }

  function netLine(all) {
    const net = form.querySelector("[data-net]");
    const service = all.filter((row) => row.reason === "service");
    const added = service.reduce((sum, row) => sum + (row.isIn ? row.mg : -row.mg), 0);
    net.hidden = all.every((row) => row.mg === 0);
    if (net.hidden) return;
    const headroom = form.querySelector("#headroom")?.dataset.headroomMg;
    const isOver = headroom !== undefined && headroom !== "" && added > Number(headroom) + 0.5;
    net.className = `net notice ${isOver ? "notice-danger" : "notice-info"}`;
    net.replaceChildren();
    const strong = document.createElement("strong");
    const words = added >= 0 ? "Net added by this visit" : "Net taken out by this visit";
    strong.textContent = `${words}: ${inBoth(Math.abs(added))}.`;
    net.append(strong);
    if (isOver) net.append(` That is ${inLb(added - Number(headroom))} more than may be added before the leak rate goes over its threshold. The owner has to be told; the repair clock starts today unless one runs already.`);
    else if (headroom && added > 0) net.append(` ${inLb(Number(headroom) - added)} below the threshold.`);
    const owner = form.querySelector('details[data-section="owner"]');
    if (isOver && owner) owner.open = true;
  }

  function update() {
    const all = rows();
    all.forEach((row, index) => cylinderLine(row, all.slice(0, index)));
    netLine(all);
  }

  form.addEventListener("input", update);
  form.addEventListener("event-form:refreshed", update);
  document.body.addEventListener("htmx:afterSwap", update);
  update();
}
