// Every action once: its keys, when it can be done, what it does. Buttons, shortcuts and the list of keys all read this.

const MODES = ["hand", "choose", "point", "circle", "line", "ring", "follow", "holes", "grow"];
const STEP_PX = 1, BIG_STEP_PX = 10, FINE_STEP_PX = 0.1;

const KEY_SIGNS = { ArrowLeft: "←", ArrowRight: "→", ArrowUp: "↑", ArrowDown: "↓", Enter: "Enter", Backspace: "⌫",
  Delete: "Del", Escape: "Esc", " ": "Space" };

const chosenOne = (b) => b.kept.chosen.length === 1;
const hasChosen = (b) => b.kept.chosen.length > 0;
const chosenShape = (b) => (chosenOne(b) ? b.shapeOf(b.kept.chosen[0]) : null);
const inTool = (...names) => (b) => names.includes(b.kept.mode);

const ACTIONS = [
  ...MODES.map((mode, i) => ({ name: mode, group: "ways", keys: [String(i + 1)], run: (b) => b.setMode(mode),
    on: (b) => b.kept.mode === mode })),
  { name: "variant", group: "making", keys: ["x"], can: (b) => b.tool.variants.length > 1, run: (b) => b.nextVariant() },
  { name: "finish", group: "making", keys: ["Enter"], can: (b) => b.tool.busy, run: (b) => b.finish() },
  { name: "take_back", group: "making", keys: ["Backspace"], can: (b) => b.tool.busy, run: (b) => b.takeBack() },
  { name: "cancel", group: "making", keys: ["Escape"], run: (b) => b.cancel() },
  { name: "place", group: "making", keys: ["Enter", " "], listed: "place", can: () => false, run: () => {} },
  { name: "kind", group: "making", keys: ["k"], run: (b) => b.panel.openKinds() },
  { name: "belong", group: "making", keys: ["b"], can: (b) => hasChosen(b) || b.kept.finding, run: (b) => b.belong(),
    on: (b) => Boolean(b.kept.finding) },
  { name: "next_mark", group: "chosen", keys: ["n"], run: (b) => b.stepMark(1) },
  { name: "previous_mark", group: "chosen", keys: ["Shift+n"], run: (b) => b.stepMark(-1) },
  { name: "next_corner", group: "chosen", keys: ["."], can: (b) => b.kept.mode === "choose" && chosenOne(b), run: (b) => b.stepGrip(1) },
  { name: "previous_corner", group: "chosen", keys: [","], can: (b) => b.kept.mode === "choose" && chosenOne(b), run: (b) => b.stepGrip(-1) },
  { name: "add_corner", group: "chosen", keys: ["i"], can: (b) => b.heldCorner() !== null, run: (b) => b.addCorner() },
  { name: "remove", group: "chosen", keys: ["Delete", "Backspace"], can: hasChosen, run: (b) => b.removeHeld() },
  { name: "split", group: "chosen", keys: ["s"], can: (b) => chosenShape(b)?.shape === "line" && b.heldCorner() !== null
    && splitLine(chosenShape(b), b.heldCorner().i) !== null, run: (b) => b.split() },
  { name: "split_ring", group: "chosen", keys: ["s"], can: (b) => b.kept.mode === "choose" && chosenShape(b)?.shape === "ring",
    run: (b) => b.setMode("cut") },
  { name: "join", group: "chosen", keys: ["j"], can: (b) => ["line", "ring"].includes(chosenShape(b)?.shape) || b.twoAlike(), run: (b) => b.join() },
  { name: "copy", group: "chosen", keys: ["c"], can: chosenOne, run: (b) => b.panel.openCopy() },
  { name: "kind_of", group: "chosen", keys: ["Shift+k"], can: hasChosen, run: (b) => b.panel.openKinds(true) },
  { name: "undo", group: "steps", keys: ["u", "Ctrl+z"], can: (b) => b.kept.undo.length > 0 || b.tool.busy, run: (b) => b.undo() },
  { name: "redo", group: "steps", keys: ["r", "Ctrl+y", "Ctrl+Shift+z"], can: (b) => b.kept.redo.length > 0, run: (b) => b.redo() },
  { name: "whole", group: "looking", keys: ["w"], run: (b) => b.changeView((v) => v.whole()) },
  { name: "each_pixel", group: "looking", keys: ["e"], run: (b) => b.changeView((v) => v.zoomTo(1, b.focusPlace())) },
  { name: "closer", group: "looking", keys: ["+", "="], run: (b) => b.changeView((v) => v.zoomBy(1.4, b.focusPlace())) },
  { name: "farther", group: "looking", keys: ["-"], run: (b) => b.changeView((v) => v.zoomBy(1 / 1.4, b.focusPlace())) },
  { name: "to_chosen", group: "looking", keys: ["v"], can: hasChosen, run: (b) => b.showChosen() },
  { name: "grid", group: "looking", keys: ["g"], can: (b) => b.plane !== null, run: (b) => b.flip("grid"), on: (b) => b.kept.grid },
  { name: "texts", group: "looking", keys: ["t"], run: (b) => b.flip("texts"), on: (b) => b.kept.texts },
  { name: "dim", group: "looking", keys: ["d"], run: (b) => b.flip("dim"), on: (b) => b.kept.dim },
  { name: "list", group: "looking", keys: ["l"], run: (b) => b.panel.openList() },
  ...LAYER_ACTIONS,
  { name: "accept", group: "assist", keys: ["a"], can: (b) => b.kept.mode === "holes" && b.tool.open.length > 0, run: (b) => b.tool.accept() },
  { name: "refuse", group: "assist", keys: ["f"], can: (b) => b.kept.mode === "holes" && b.tool.open.length > 0, run: (b) => b.tool.refuse() },
  { name: "accept_sure", group: "assist", keys: ["Shift+a"], can: (b) => b.kept.mode === "holes" && b.tool.open.some((h) => h.sure), run: (b) => b.tool.acceptSure() },
  { name: "next_hole", group: "assist", keys: ["."], can: inTool("holes"), run: (b) => b.tool.step(1) },
  { name: "previous_hole", group: "assist", keys: [","], can: inTool("holes"), run: (b) => b.tool.step(-1) },
  { name: "more", group: "assist", keys: ["."], can: inTool("grow"), run: (b) => b.setAmount(b.kept.amount + 0.05) },
  { name: "less", group: "assist", keys: [","], can: inTool("grow"), run: (b) => b.setAmount(b.kept.amount - 0.05) },
  { name: "take_away", group: "assist", keys: ["q"], can: inTool("grow"), run: (b) => b.flip("taking"), on: (b) => b.kept.taking },
  { name: "brush_larger", group: "assist", keys: ["]"], can: inTool("grow"), run: (b) => b.setBrush(1.25) },
  { name: "brush_smaller", group: "assist", keys: ["["], can: inTool("grow"), run: (b) => b.setBrush(0.8) },
  { name: "take_outline", group: "assist", keys: ["o"], can: (b) => b.kept.kind === "outline", run: (b) => b.takeOutline() },
  { name: "keys", group: "looking", keys: ["?"], run: (b) => b.panel.openKeys() },
];

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const KEY_GROUPS = ["ways", "making", "chosen", "steps", "looking", "assist"];
const MOVES = ["arrows_cross", "arrows_chosen", "arrows_look", "arrows_steps", "tab", "space_drag", "wheel"];

const actionOf = (name) => ACTIONS.find((action) => action.name === name);

function keyName(event) {
  const letter = event.key.length === 1;
  const shift = event.shiftKey && (!letter || /[a-z]/i.test(event.key));
  return [event.ctrlKey || event.metaKey ? "Ctrl+" : "", shift ? "Shift+" : "", letter ? event.key.toLowerCase() : event.key].join("");
}

const shownKey = (key) => key.split("+").filter(Boolean).map((part) => KEY_SIGNS[part] ?? (part.length === 1 ? part.toUpperCase() : part))
  .join(" ") || "+";

function runKey(bench, event) {
  const name = keyName(event);
  const action = ACTIONS.find((a) => a.keys.includes(name) && (a.can?.(bench) ?? true));
  if (!action) return false;
  action.run(bench);
  return true;
}
