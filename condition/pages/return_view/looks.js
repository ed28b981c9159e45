// The ways to look at a pair: side by side in step, wipe, blink, difference.

const LOOKS = ["side", "wipe", "blink", "difference"];
const BLINK_MS = 700;
const GAP_PX = 6;

// How wide one picture stands on a stage, and where: side by side shows two, all others one.
function panesOf(look, width, height) {
  if (look !== "side") return [{ left: 0, width, height }];
  if (width < 560) return [{ left: 0, top: 0, width, height: (height - GAP_PX) / 2 }, { left: 0, top: (height + GAP_PX) / 2, width, height: (height - GAP_PX) / 2 }];
  const half = (width - GAP_PX) / 2;
  return [{ left: 0, width: half, height }, { left: half + GAP_PX, width: half, height }];
}
