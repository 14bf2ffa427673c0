// Mouse, wheel and fingers on a layer.
/** Let them move the view. */
export function listen(view) {
  const { canvas } = view, down = new Map();
  const at = (event) => [event.offsetX * devicePixelRatio, event.offsetY * devicePixelRatio];
  canvas.addEventListener("webglcontextlost", (event) => event.preventDefault());
  canvas.addEventListener("webglcontextrestored", () => {
    for (const cut of view.cuts.values()) cut.texture = null;
    view.begin();
    view.ask();
  });
  canvas.addEventListener("wheel", (event) => { event.preventDefault(); view.zoom(Math.exp(-event.deltaY * 0.0016), ...at(event)); }, { passive: false });
  canvas.addEventListener("pointerdown", (event) => { down.set(event.pointerId, at(event)); canvas.setPointerCapture(event.pointerId); });
  for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, (event) => down.delete(event.pointerId));
  canvas.addEventListener("pointermove", (event) => {
    const now = at(event), last = down.get(event.pointerId);
    view.pointed?.(...view.under(...now));
    if (!last) return;
    const other = [...down].find(([id]) => id !== event.pointerId)?.[1];
    if (other) view.zoom(Math.hypot(now[0] - other[0], now[1] - other[1]) / (Math.hypot(last[0] - other[0], last[1] - other[1]) || 1), ...other);
    else view.shift(last[0] - now[0], last[1] - now[1]);
    down.set(event.pointerId, now);
  });
  canvas.addEventListener("dblclick", (event) => view.zoom(2, ...at(event)));
}
