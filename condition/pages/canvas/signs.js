// How each kind is drawn: its symbol in a box of 16, its hatch and its dash, from the legend that map and report share.

const SYMBOLS = {
  zigzag: "M2 11 6 5 9 11 14 4",
  ring: "M8 3.2a4.8 4.8 0 1 0 .01 0Z",
  "ring-dot": "M8 3.2a4.8 4.8 0 1 0 .01 0ZM8 7.2a.8 .8 0 1 0 .01 0Z",
  disc: "M8 3.2a4.8 4.8 0 1 0 .01 0ZM4.6 6.4h6.8M3.4 9h9.2M5 11.4h6",
  slot: "M4.6 5h6.8a3 3 0 0 1 0 6H4.6a3 3 0 0 1 0-6Z",
  wave: "M2 8c2-5 4-5 6 0s4 5 6 0",
  bars: "M4 3v10M8 3v10M12 3v10",
  patch: "M3 6 7 3l5 2 1.5 5-4 3.5L4 11Z",
  net: "M3 5.5h10M3 10.5h10M5.5 3v10M10.5 3v10",
  veil: "M3 3h10v10H3ZM6 3v10M9.6 3v10",
  dent: "M2 5h3c0 5 6 5 6 0h3",
  chip: "M2 12 8 3l6 9ZM6 12l2-4 2 4",
  drop: "M8 2.5c3 4 4 5.4 4 7.2a4 4 0 0 1-8 0C4 7.9 5 6.5 8 2.5Z",
  rust: "M4 4.5h.01M8 3.5h.01M12 5h.01M3.5 8.5h.01M7.5 8h.01M11.5 9.5h.01M5 12.5h.01M9 12h.01M12.8 12.8h.01",
  seam: "M2 6.5c4-2 8-2 12 0M2 9.5c4 2 8 2 12 0",
  lift: "M2 12h12M2 9.5C6 9.5 10 8 13 3.5",
  bow: "M2 11C5 4 11 4 14 11M2 11h12",
  break: "M2 8h4l1.5-3M14 8h-4L8.5 11",
  mend: "M2 8h12M5 5v6M8 5v6M11 5v6",
  gap: "M3 6V3h3M10 3h3v3M13 10v3h-3M6 13H3v-3",
  bolt: "M9.5 2 4.5 9h3.5l-1.5 5L11.5 7H8Z",
  diamond: "M8 2.5 13.5 8 8 13.5 2.5 8Z",
  axis: "M8 2v12M5 8h6",
  contour: "M5 3c5-2 8 3 6 5s2 5-3 5-7-8-3-10Z",
};

const SVG = "http://www.w3.org/2000/svg";
const HATCH_PX_A_MM = 3.4;
const STROKE_PX = 2.25;

function svg(name, attributes = {}, parent = null) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  parent?.append(element);
  return element;
}

function symbolGlyph(symbol, colour, size) {
  const glyph = svg("svg", { viewBox: "0 0 16 16", width: size, height: size, "aria-hidden": "true", class: "glyph" });
  svg("path", { d: SYMBOLS[symbol] ?? SYMBOLS.diamond, fill: "none", stroke: colour, "stroke-width": 1.7,
    "stroke-linejoin": "round", "stroke-linecap": "round" }, glyph);
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
