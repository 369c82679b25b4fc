// Mouse, pen and fingers on a stage: one draws or moves, two fingers zoom. A pen wins over the palm beside it.
const TAP = 6;

// hand: {begin(point, event), move(point, event), end(point, tapped), cancel(), draws()}; hover(point) is for the mouse
export function gestures(viewer, hand) {
  const { stage } = viewer;
  const down = new Map();
  let penKnown = false;
  let mode = "";
  let start = null;
  let moved = 0;

  const drop = () => { if (mode === "draw") hand.cancel(); mode = ""; };
  const fingers = () => [...down.values()].filter((one) => one.type === "touch");
  const spread = ([a, b]) => ({ x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, far: Math.hypot(a.x - b.x, a.y - b.y) });

  function begin(event) {
    const mayDraw = hand.draws() && event.button === 0 && !(event.pointerType === "touch" && penKnown);
    mode = mayDraw ? "draw" : "pan";
    start = { x: event.clientX, y: event.clientY };
    moved = 0;
    if (mode === "draw") hand.begin(viewer.fraction(event.clientX, event.clientY));
  }

  function pen() {
    penKnown = true;
    for (const [id, one] of down) if (one.type === "touch") down.delete(id);
    drop();
  }

  stage.addEventListener("pointerdown", (event) => {
    if (event.target.closest("button")) return;
    if (event.pointerType === "pen") pen();
    else if (event.pointerType === "touch" && [...down.values()].some((one) => one.type === "pen")) return;
    stage.setPointerCapture(event.pointerId);
    stage.focus({ preventScroll: true });
    down.set(event.pointerId, { x: event.clientX, y: event.clientY, type: event.pointerType });
    if (down.size === 1) begin(event);
    else if (fingers().length === 2) { drop(); mode = "pinch"; }
    event.preventDefault();
  });

  stage.addEventListener("pointermove", (event) => {
    const was = down.get(event.pointerId);
    if (!was) return void (event.pointerType === "mouse" && hand.hover(viewer.fraction(event.clientX, event.clientY)));
    const before = fingers().length === 2 ? spread(fingers()) : null;
    const [dx, dy] = [event.clientX - was.x, event.clientY - was.y];
    Object.assign(was, { x: event.clientX, y: event.clientY });
    moved = Math.max(moved, start ? Math.hypot(event.clientX - start.x, event.clientY - start.y) : 0);
    if (mode === "pinch" && before) pinch(before, spread(fingers()));
    else if (mode === "pan" && moved > TAP) viewer.pan(dx, dy);
    else if (mode === "draw") for (const one of event.getCoalescedEvents?.() ?? [event]) hand.move(viewer.fraction(one.clientX, one.clientY));
  });

  function pinch(before, after) {
    viewer.pan(after.x - before.x, after.y - before.y);
    if (before.far > 0) viewer.zoomBy(after.far / before.far, after.x, after.y);
  }

  stage.addEventListener("pointerup", (event) => {
    if (!down.delete(event.pointerId)) return;
    const point = viewer.fraction(event.clientX, event.clientY);
    if (mode === "draw") hand.end(point, moved <= TAP, event.pointerType);
    else if (mode === "pan" && moved <= TAP) hand.choose(point);
    if (mode !== "pinch" || !down.size) mode = "";
  });
  stage.addEventListener("pointercancel", (event) => { down.delete(event.pointerId); drop(); });
}
