// Mouse, wheel and fingers on a layer.
/** Let them move the sheet. */
export function hear(sheet) {
  const { canvas } = sheet, down = new Map();
  const at = (event) => [event.offsetX * devicePixelRatio, event.offsetY * devicePixelRatio];
  canvas.addEventListener("webglcontextlost", (event) => event.preventDefault());
  canvas.addEventListener("webglcontextrestored", () => {
    for (const cut of sheet.cuts.values()) cut.texture = null;
    sheet.begin();
    sheet.ask();
  });
  canvas.addEventListener("wheel", (event) => { event.preventDefault(); sheet.zoom(Math.exp(-event.deltaY * 0.0016), ...at(event)); }, { passive: false });
  canvas.addEventListener("pointerdown", (event) => { down.set(event.pointerId, at(event)); canvas.setPointerCapture(event.pointerId); });
  for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, (event) => down.delete(event.pointerId));
  canvas.addEventListener("pointermove", (event) => {
    const now = at(event), last = down.get(event.pointerId);
    sheet.pointed?.(...sheet.under(...now));
    if (!last) return;
    const other = [...down].find(([id]) => id !== event.pointerId)?.[1];
    if (other) sheet.zoom(Math.hypot(now[0] - other[0], now[1] - other[1]) / (Math.hypot(last[0] - other[0], last[1] - other[1]) || 1), ...other);
    else sheet.shift(last[0] - now[0], last[1] - now[1]);
    down.set(event.pointerId, now);
  });
  canvas.addEventListener("dblclick", (event) => sheet.zoom(2, ...at(event)));
}
