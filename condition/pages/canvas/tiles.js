// The photo's tiles: which are needed, fetched nearest first, kept decoded, painted with the best that is there.

const TILE_PX = 512;
const KEPT_TILES = 192;
const AT_ONCE = 8;
const TRY_AGAIN_MS = 1500;

class Tiles {
  constructor(photo, changed) {
    this.photo = photo;
    this.changed = changed;
    this.levels = photo.levels ?? Math.max(1, Math.ceil(Math.log2(Math.max(photo.width, photo.height) / TILE_PX)) + 1);
    this.ready = new Map();
    this.coming = new Map();
    this.failed = new Map();
    this.wanted = [];
    this.closed = false;
    this.firstSeen = null;
  }

  columns(level) { return Math.ceil(Math.ceil(this.photo.width / 2 ** level) / TILE_PX); }
  rows(level) { return Math.ceil(Math.ceil(this.photo.height / 2 ** level) / TILE_PX); }

  levelFor(deviceScale) {
    return clamp(Math.floor(Math.log2(1 / deviceScale) + 1e-9), 0, this.levels - 1);
  }

  // Tiles of a level that a box of the photo touches, nearest to its middle first.
  touching(level, x, y, w, h) {
    const span = TILE_PX * 2 ** level;
    const c0 = Math.max(0, Math.floor(x / span)), c1 = Math.min(this.columns(level) - 1, Math.floor((x + w) / span));
    const r0 = Math.max(0, Math.floor(y / span)), r1 = Math.min(this.rows(level) - 1, Math.floor((y + h) / span));
    const tiles = [];
    for (let row = r0; row <= r1; row++)
      for (let col = c0; col <= c1; col++) {
        const away = Math.hypot((col + 0.5) * span - x - w / 2, (row + 0.5) * span - y - h / 2);
        tiles.push({ level, col, row, key: `${level}/${col}_${row}`, away });
      }
    return tiles.sort((a, b) => a.away - b.away);
  }

  // Paint the box of the photo that `view` shows onto a context of w x h screen px. Returns whether all is sharp.
  paint(context, view, w, h, density) {
    const s = view.scale * density;
    const level = this.levelFor(s);
    context.imageSmoothingEnabled = view.scale < SMOOTH_BELOW;
    context.imageSmoothingQuality = "medium";
    let sharp = true;
    const tiles = this.touching(level, view.x, view.y, w / view.scale, h / view.scale);
    for (const tile of tiles) {
      const bitmap = this.take(tile.key);
      if (!bitmap) sharp = false;
      this.paintTile(context, view, s, tile, bitmap);
    }
    return { sharp, tiles };
  }

  paintTile(context, view, s, tile, bitmap) {
    const span = TILE_PX * 2 ** tile.level;
    const left = tile.col * span, top = tile.row * span;
    const right = Math.min(left + span, this.photo.width), bottom = Math.min(top + span, this.photo.height);
    const x0 = Math.round((left - view.x) * s), y0 = Math.round((top - view.y) * s);
    const x1 = Math.round((right - view.x) * s), y1 = Math.round((bottom - view.y) * s);
    if (bitmap) {
      const px = 2 ** tile.level;
      context.drawImage(bitmap, 0, 0, Math.min((right - left) / px, bitmap.width),
        Math.min((bottom - top) / px, bitmap.height), x0, y0, x1 - x0, y1 - y0);
      return;
    }
    for (let up = tile.level + 1; up < this.levels; up++) {
      const ratio = 2 ** (up - tile.level);
      const col = Math.floor(tile.col / ratio), row = Math.floor(tile.row / ratio);
      const coarse = this.take(`${up}/${col}_${row}`);
      if (!coarse) continue;
      const px = 2 ** up;
      const sx = left / px - col * TILE_PX, sy = top / px - row * TILE_PX;
      context.drawImage(coarse, sx, sy, Math.min((right - left) / px, coarse.width - sx),
        Math.min((bottom - top) / px, coarse.height - sy), x0, y0, x1 - x0, y1 - y0);
      return;
    }
  }

  // Say what is in sight now; what is no longer wanted and not yet asked for is forgotten.
  want(lists) {
    this.wanted = lists.flat();
    this.ask();
  }

  take(key) {
    const bitmap = this.ready.get(key);
    if (bitmap) { this.ready.delete(key); this.ready.set(key, bitmap); }
    return bitmap;
  }

  ask() {
    const now = performance.now();
    for (const tile of this.wanted) {
      if (this.coming.size >= AT_ONCE) return;
      if (this.ready.has(tile.key) || this.coming.has(tile.key) || this.failed.get(tile.key) > now) continue;
      this.fetchTile(tile.key);
    }
  }

  async fetchTile(key) {
    this.coming.set(key, true);
    try {
      const answer = await fetch(`${this.photo.tiles}${key}.jpg`);
      if (!answer.ok) throw new Error(String(answer.status));
      const bitmap = await createImageBitmap(await answer.blob());
      if (this.closed) return bitmap.close();
      this.ready.set(key, bitmap);
      this.firstSeen ??= performance.now();
      this.trim();
      this.failed.delete(key);
    } catch {
      this.failed.set(key, performance.now() + TRY_AGAIN_MS);
      if (!this.closed) setTimeout(() => this.ask(), TRY_AGAIN_MS + 20);
    } finally {
      this.coming.delete(key);
      if (!this.closed) { this.ask(); this.changed(); }
    }
  }

  trim() {
    const base = `${this.levels - 1}/`;
    for (const [key, bitmap] of this.ready) {
      if (this.ready.size <= KEPT_TILES) return;
      if (key.startsWith(base)) continue;
      this.ready.delete(key);
      bitmap.close();
    }
  }

  close() {
    this.closed = true;
    for (const bitmap of this.ready.values()) bitmap.close();
    this.ready.clear();
  }
}
