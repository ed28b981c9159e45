// Outlines of changes and findings over the photos, in the earlier photo's pixels; the chosen change stands out.

const OUTLINE = { open: "#C2410C", accepted: "#1F5C57", explained: "#5C686A", dismissed: "#8A9492" };

function tracePath(context, points, view, density, left) {
  context.beginPath();
  points.forEach(([x, y], i) => {
    const sx = ((x - view.x) * view.scale + left) * density, sy = (y - view.y) * view.scale * density;
    if (i) context.lineTo(sx, sy);
    else context.moveTo(sx, sy);
  });
}

function strokeTwice(context, colour, width, density, dash) {
  context.setLineDash([]);
  context.strokeStyle = "rgba(255,255,255,.85)";
  context.lineWidth = (width + 2.5) * density;
  context.stroke();
  context.setLineDash(dash.map((v) => v * density));
  context.strokeStyle = colour;
  context.lineWidth = width * density;
  context.stroke();
  context.setLineDash([]);
}

// Grown by a few screen pixels, so that the outline does not cover what it is about.
function roomy(ring, view) {
  const box = loopBounds(ring);
  const spare = 7 / view.scale;
  if ((box[2] - box[0]) * view.scale > 60 && (box[3] - box[1]) * view.scale > 60) return ring;
  const cx = (box[0] + box[2]) / 2, cy = (box[1] + box[3]) / 2;
  const rx = (box[2] - box[0]) / 2 + spare, ry = (box[3] - box[1]) / 2 + spare;
  return Array.from({ length: 40 }, (_, k) => [cx + rx * 1.15 * Math.cos((k * Math.PI) / 20), cy + ry * 1.15 * Math.sin((k * Math.PI) / 20)]);
}

function loopBounds(points) {
  const xs = points.map((p) => p[0]), ys = points.map((p) => p[1]);
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}

function paintOutlines(context, view, density, left, { changes, findings, chosen }) {
  for (const finding of findings) {
    tracePath(context, finding.points, view, density, left);
    if (finding.closed) context.closePath();
    strokeTwice(context, "#1F5C57", 1.2, density, [2, 3]);
    paintTag(context, view, density, left, finding.points, String(finding.number), "#1F5C57");
  }
  for (const change of [...changes.filter((c) => c.id !== chosen), ...changes.filter((c) => c.id === chosen)]) {
    tracePath(context, roomy(change.ring, view), view, density, left);
    context.closePath();
    const here = change.id === chosen;
    const open = change.decision === "open" && !change.known;
    const colour = change.known ? OUTLINE.accepted : OUTLINE[change.decision];
    strokeTwice(context, colour, here ? 3 : 1.6, density, change.sure ? [] : [5, 4]);
    if (here || open) paintTag(context, view, density, left, roomy(change.ring, view), change.label, colour);
  }
}

function paintTag(context, view, density, left, points, text, colour) {
  const [, y0, x1] = loopBounds(points);
  const x = ((x1 - view.x) * view.scale + left + 3) * density, y = ((y0 - view.y) * view.scale - 3) * density;
  context.font = `600 ${12 * density}px system-ui, sans-serif`;
  const wide = context.measureText(text).width + 8 * density;
  context.fillStyle = colour;
  context.fillRect(x, y - 15 * density, wide, 17 * density);
  context.fillStyle = "#fff";
  context.textBaseline = "middle";
  context.fillText(text, x + 4 * density, y - 6.5 * density);
}
