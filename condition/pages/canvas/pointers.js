// Mouse, pen and fingers on the stage: one pointer works with the tool, two fingers move and zoom the photo.

const WHEEL_STEP = 0.0016;

class Pointers {
  constructor(bench, stage) {
    this.bench = bench;
    this.stage = stage;
    this.down = new Map();
    this.gesture = null;
    this.pinch = null;
    const on = (name, f, options) => stage.addEventListener(name, f, options);
    on("pointerdown", (event) => this.press(event));
    on("pointermove", (event) => this.move(event));
    on("pointerup", (event) => this.release(event, true));
    on("pointercancel", (event) => this.release(event, false));
    on("lostpointercapture", (event) => this.down.has(event.pointerId) && this.release(event, false));
    on("pointerleave", () => { bench.under = null; bench.repaint(); });
    on("mousedown", (event) => event.preventDefault());
    on("contextmenu", (event) => event.preventDefault());
    on("wheel", (event) => this.wheel(event), { passive: false });
  }

  press(event) {
    const { bench } = this;
    event.preventDefault();
    if (!(event.target.closest?.(".mark"))) this.stage.focus({ preventScroll: true });
    this.stage.setPointerCapture(event.pointerId);
    this.down.set(event.pointerId, [event.clientX, event.clientY]);
    bench.cross = null;
    this.fingersOnly = event.pointerType === "touch" && (this.down.size === 1 || this.fingersOnly);
    if (this.fingersOnly && this.down.size === 2) { this.startPinch(); return; }
    if (this.down.size > 1) return;
    this.working = event.pointerId;
    const pt = bench.placeOf(event);
    bench.under = pt.photo;
    if (event.button === 1 || bench.spaceHeld) {
      bench.spaceUsed = true;
      this.gesture = bench.panGesture();
    } else if (event.button === 0) this.gesture = bench.tool.down(pt, event);
    bench.repaint();
  }

  move(event) {
    const { bench } = this;
    if (this.down.has(event.pointerId)) this.down.set(event.pointerId, [event.clientX, event.clientY]);
    if (this.pinch) { this.movePinch(); return; }
    if (this.down.size && event.pointerId !== this.working) return;
    const pt = bench.placeOf(event);
    bench.under = pt.photo;
    if (this.gesture) this.gesture.move(pt, event);
    else if (!this.down.size) bench.tool.hover(pt, event);
    bench.repaint();
  }

  release(event, whole) {
    const { bench } = this;
    if (!this.down.delete(event.pointerId)) return;
    if (this.pinch) {
      if (this.down.size < 2) this.pinch = this.down.size ? { over: true } : null;
      bench.keep();
      bench.repaint();
      return;
    }
    if (event.pointerId !== this.working) return;
    const { gesture } = this;
    this.gesture = null;
    if (gesture) {
      if (whole) gesture.up(bench.placeOf(event), event);
      else gesture.cancel?.();
    }
    if (event.pointerType === "touch") bench.under = null;
    bench.keep();
    bench.repaint();
  }

  startPinch() {
    this.gesture?.cancel?.();
    this.gesture = null;
    const [a, b] = [...this.down.values()];
    this.pinch = { apart: distance(a, b), middle: between(a, b, 0.5) };
  }

  movePinch() {
    if (this.pinch.over || this.down.size < 2) return;
    const [a, b] = [...this.down.values()];
    const apart = distance(a, b), middle = between(a, b, 0.5);
    const { view } = this.bench;
    const [left, top] = this.bench.corner();
    view.panBy(middle[0] - this.pinch.middle[0], middle[1] - this.pinch.middle[1]);
    if (this.pinch.apart > 0) view.zoomBy(apart / this.pinch.apart, [middle[0] - left, middle[1] - top]);
    this.pinch = { apart, middle };
    this.bench.repaint();
  }

  wheel(event) {
    event.preventDefault();
    const { bench } = this;
    const lines = event.deltaMode === 1 ? 16 : event.deltaMode === 2 ? 400 : 1;
    const pt = bench.placeOf(event);
    if (event.shiftKey && !event.ctrlKey) bench.view.panBy(-(event.deltaX || event.deltaY) * lines, 0);
    else bench.view.zoomBy(Math.exp(-clamp(event.deltaY * lines, -400, 400) * (event.ctrlKey ? 5 : 1) * WHEEL_STEP), pt.screen);
    bench.under = bench.view.toPhoto(pt.screen);
    bench.keep();
    bench.repaint();
  }
}
