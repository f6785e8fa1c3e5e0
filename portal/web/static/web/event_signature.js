// The signature pad. It writes strokes as one SVG path on a sheet of 600 by 200; a typed name counts without it.
{
  const frame = document.querySelector("[data-signature]");
  const path = document.querySelector("[data-signature-path]");
  if (frame && path && window.SignaturePad) {
    const SHEET = { width: 600, height: 200 };
    const canvas = frame.querySelector("[data-signature-pad]");
    const pad = new SignaturePad(canvas, { penColor: "#13232d", minWidth: 1.2, maxWidth: 3 });

    const toSheet = (value, size, edge) => Math.max(0, Math.min(edge, Math.round((value / size) * edge)));

    function write() {
      const { width, height } = canvas.getBoundingClientRect();
      path.value = pad.toData().filter((stroke) => stroke.points.length > 1).map((stroke) => (
        stroke.points.map((point, index) => `${index ? "L" : "M"}${toSheet(point.x, width, SHEET.width)} ${toSheet(point.y, height, SHEET.height)}`).join("")
      )).join("");
      path.dispatchEvent(new Event("input", { bubbles: true }));
    }

    function read() {
      const { width, height } = canvas.getBoundingClientRect();
      const strokes = path.value.split("M").filter(Boolean).map((stroke) => ({
        penColor: "#13232d",
        minWidth: 1.2,
        maxWidth: 3,
        points: stroke.split("L").map((point, index) => {
          const [x, y] = point.split(" ").map(Number);
          return { x: (x / SHEET.width) * width, y: (y / SHEET.height) * height, time: index * 15, pressure: 0.5 };
        }),
      }));
      if (strokes.length) pad.fromData(strokes);
    }

    // A canvas is blank after it changes its size, so the drawing is put back from the path.
    function fit() {
      const { width, height } = canvas.getBoundingClientRect();
      const ratio = Math.max(window.devicePixelRatio || 1, 1);
      canvas.width = width * ratio;
      canvas.height = height * ratio;
      canvas.getContext("2d").scale(ratio, ratio);
      pad.clear();
      read();
    }

    frame.hidden = false;
    pad.addEventListener("endStroke", write);
    frame.querySelector("[data-signature-clear]").addEventListener("click", () => {
      pad.clear();
      path.value = "";
      path.dispatchEvent(new Event("input", { bubbles: true }));
    });
    document.addEventListener("event-draft:restored", fit);
    new ResizeObserver(fit).observe(canvas);
  }
}
