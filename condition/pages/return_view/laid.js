// The later photo laid over the earlier one: seen through a homography, and in the earlier photo's light if asked.

const GROUND = [217, 220, 215];
const MOST_SOURCE_PX = 2600;

class Homography {
  constructor(values) { this.h = values; }

  at(x, y) {
    const h = this.h;
    const w = h[6] * x + h[7] * y + h[8];
    return [(h[0] * x + h[1] * y + h[2]) / w, (h[3] * x + h[4] * y + h[5]) / w];
  }

  // Later pixels an earlier pixel, at a place.
  scaleAt(x, y) {
    const [a, b, c] = [this.at(x, y), this.at(x + 1, y), this.at(x, y + 1)];
    return Math.sqrt(Math.abs((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))) || 1;
  }
}

// Coded 8-bit levels of the later photo to those of the earlier one's light, one table a channel.
function lightTables(tone) {
  const linear = (v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
  const coded = (v) => (v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055);
  return tone.map(([slope, offset]) =>
    Uint8ClampedArray.from({ length: 256 }, (_, level) =>
      255 * coded(Math.min(1, Math.exp(slope * Math.log(Math.max(linear(level / 255), 1e-4)) + offset)))));
}

class Laid {
  constructor(photo, under, homography, tone, changed) {
    this.photo = photo;
    this.under = under;
    this.map = new Homography(homography);
    this.tables = tone.length === 3 ? lightTables(tone) : null;
    this.turn = 0;
    this.tiles = new Tiles(photo, () => { this.turn++; changed(); });
    this.source = document.createElement("canvas");
    this.context = this.source.getContext("2d", { willReadFrequently: true });
    this.made = null;
  }

  // ImageData of w x h screen px at a density, the earlier photo's view; made anew only when something changed.
  picture(view, w, h, density, relit) {
    const key = [view.scale, view.x, view.y, w, h, density, relit, this.turn].join("|");
    if (this.made?.key === key) return this.made;
    const { sharp, wanted, frame } = this.readSource(view, w, h, density);
    const out = new ImageData(Math.max(1, Math.round(w * density)), Math.max(1, Math.round(h * density)));
    this.warp(out, view, density, frame, relit ? this.tables : null);
    this.made = { key, out, sharp, wanted };
    return this.made;
  }

  // The part of the later photo that is in sight, drawn from its tiles at about the size it is seen at.
  readSource(view, w, h, density) {
    const right = view.x + w / view.scale, bottom = view.y + h / view.scale;
    const clip = (v, most) => clamp(v, 0, most);
    const seen = [[view.x, view.y], [right, view.y], [right, bottom], [view.x, bottom]].map(([x, y]) => this.map.at(x, y));
    const xs = seen.map((p) => p[0]), ys = seen.map((p) => p[1]);
    const x0 = clip(Math.floor(Math.min(...xs)) - 2, this.photo.width), x1 = clip(Math.ceil(Math.max(...xs)) + 2, this.photo.width);
    const y0 = clip(Math.floor(Math.min(...ys)) - 2, this.photo.height), y1 = clip(Math.ceil(Math.max(...ys)) + 2, this.photo.height);
    if (x1 <= x0 || y1 <= y0) return { sharp: true, wanted: [], frame: null };
    const wish = (view.scale * density) / this.map.scaleAt((view.x + right) / 2, (view.y + bottom) / 2);
    const s = Math.min(wish, MOST_SOURCE_PX / Math.max(x1 - x0, y1 - y0));
    const width = Math.max(2, Math.round((x1 - x0) * s)), height = Math.max(2, Math.round((y1 - y0) * s));
    this.source.width = width;
    this.source.height = height;
    this.context.fillStyle = `rgb(${GROUND.join(",")})`;
    this.context.fillRect(0, 0, width, height);
    const { sharp, tiles } = this.tiles.paint(this.context, { x: x0, y: y0, scale: s }, width, height, 1);
    const base = this.tiles.touching(this.tiles.levels - 1, 0, 0, this.photo.width, this.photo.height);
    return { sharp, wanted: [base, tiles], frame: { x0, y0, x1, y1, s, data: this.context.getImageData(0, 0, width, height) } };
  }

  // Alpha tells what a pixel is: 255 both photos show it, 254 only the later one does, 0 the later one does not.
  warp(out, view, density, frame, tables) {
    const { data: to, width, height } = out;
    const h = this.map.h;
    const step = 1 / (view.scale * density);
    const from = frame?.data.data, fw = frame?.data.width ?? 0, fh = frame?.data.height ?? 0;
    let k = 0;
    for (let row = 0; row < height; row++) {
      const y = view.y + (row + 0.5) * step;
      for (let column = 0; column < width; column++, k += 4) {
        const x = view.x + (column + 0.5) * step;
        to[k + 3] = x < 0 || y < 0 || x >= this.under.width || y >= this.under.height ? 254 : 255;
        const w = h[6] * x + h[7] * y + h[8];
        const u = (h[0] * x + h[1] * y + h[2]) / w, v = (h[3] * x + h[4] * y + h[5]) / w;
        if (!frame || w <= 0 || u < 0 || v < 0 || u >= this.photo.width || v >= this.photo.height) {
          to[k + 3] = 0;
          continue;
        }
        const fx = Math.min(Math.max((u - frame.x0) * frame.s - 0.5, 0), fw - 1.001);
        const fy = Math.min(Math.max((v - frame.y0) * frame.s - 0.5, 0), fh - 1.001);
        const i = fx | 0, j = fy | 0, a = fx - i, b = fy - j;
        const p = (j * fw + i) * 4, q = p + fw * 4;
        for (let c = 0; c < 3; c++) {
          const level = (from[p + c] * (1 - a) + from[p + 4 + c] * a) * (1 - b) + (from[q + c] * (1 - a) + from[q + 4 + c] * a) * b;
          to[k + c] = tables ? tables[c][(level + 0.5) | 0] : level;
        }
      }
    }
  }

  close() { this.tiles.close(); }
}

// Where the later photo is darker (amber) or lighter (blue), over a pale grey picture of the earlier one.
const QUIET = 10, FULL = 60;

function differenceOf(before, after) {
  const out = new ImageData(before.width, before.height);
  const one = before.data, two = after.data, to = out.data;
  for (let k = 0; k < to.length; k += 4) {
    const l1 = 0.2126 * one[k] + 0.7152 * one[k + 1] + 0.0722 * one[k + 2];
    const l2 = 0.2126 * two[k] + 0.7152 * two[k + 1] + 0.0722 * two[k + 2];
    const most = Math.max(Math.abs(two[k] - one[k]), Math.abs(two[k + 1] - one[k + 1]), Math.abs(two[k + 2] - one[k + 2]));
    const share = two[k + 3] < 255 ? 0 : Math.min(1, Math.max(0, (Math.max(Math.abs(l2 - l1), 0.7 * most) - QUIET) / (FULL - QUIET)));
    const grey = 120 + 0.5 * l1;
    const colour = l2 < l1 ? DARKER : LIGHTER;
    for (let c = 0; c < 3; c++) to[k + c] = grey * (1 - share) + colour[c] * share;
    to[k + 3] = 255;
  }
  return out;
}
const DARKER = [176, 78, 0], LIGHTER = [0, 84, 196];
