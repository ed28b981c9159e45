// How each kind is drawn: its symbol in a box from -8 to 8, its hatch and its dash, from the legend that map and
// report share.

const SVG = "http://www.w3.org/2000/svg";
const HATCH_PX_A_MM = 3.4;
const STROKE_PX = 2.25;

function svg(name, attributes = {}, parent = null) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  parent?.append(element);
  return element;
}

// The symbol's strokes and its filled parts, in one colour.
function symbolPaths(parent, sign, colour, attributes = {}) {
  const group = svg("g", attributes, parent);
  svg("path", { d: sign.lines, fill: "none", stroke: colour, "stroke-width": 1.6, "stroke-linejoin": "round", "stroke-linecap": "round" }, group);
  svg("path", { d: sign.areas, fill: colour }, group);
}

function symbolGlyph(sign, size) {
  const glyph = svg("svg", { viewBox: "-9 -9 18 18", width: size, height: size, "aria-hidden": "true", class: "glyph" });
  symbolPaths(glyph, sign, sign.colour);
  return glyph;
}

class Signs {
  constructor(legend) {
    this.byKind = new Map(legend.map((entry) => [entry.kind, entry]));
    this.patterns = new Map();
  }

  of(kind) { return this.byKind.get(kind) ?? this.byKind.get("other"); }
  label(kind) { return this.of(kind).label; }

  dash(kind) {
    const { dash } = this.of(kind);
    return dash.length ? dash.map((n) => n * STROKE_PX).join(" ") : null;
  }

  // Fills for a kind's hatch, one pattern a family of lines, made once; `scale` keeps them at screen size.
  hatches(kind, defs, scale) {
    const { hatch, colour } = this.of(kind);
    return hatch.map(([angle, spacing], i) => {
      const id = `hatch-${kind.replaceAll(" ", "-")}-${i}`;
      if (!this.patterns.has(id)) {
        const step = spacing * HATCH_PX_A_MM;
        const pattern = svg("pattern", { id, width: step, height: step, patternUnits: "userSpaceOnUse" }, defs);
        svg("path", { d: `M0 ${step / 2}H${step}`, stroke: colour, "stroke-width": 1.1, "stroke-opacity": 0.75 }, pattern);
        this.patterns.set(id, { pattern, angle });
        this.fit(id, scale);
      }
      return `url(#${id})`;
    });
  }

  fit(id, scale) {
    const { pattern, angle } = this.patterns.get(id);
    pattern.setAttribute("patternTransform", `scale(${1 / scale}) rotate(${-angle})`);
  }

  rescale(scale) {
    for (const id of this.patterns.keys()) this.fit(id, scale);
  }
}
