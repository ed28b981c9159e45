// Where the photo lies under the stage: `scale` screen pixels a photo pixel, (x, y) the photo place at its corner.

const CLOSEST = 64;
const SMOOTH_BELOW = 3;

class View {
  constructor(photo) {
    this.photo = photo;
    this.width = 1;
    this.height = 1;
    this.scale = 1;
    this.x = 0;
    this.y = 0;
  }

  get key() { return `${this.scale}|${this.x}|${this.y}|${this.width}|${this.height}`; }
  copy() { return Object.assign(new View(this.photo), this); }

  toScreen([x, y]) { return [(x - this.x) * this.scale, (y - this.y) * this.scale]; }
  toPhoto([x, y]) { return [x / this.scale + this.x, y / this.scale + this.y]; }
  get middle() { return [this.width / 2, this.height / 2]; }
  get wholeScale() { return Math.min(this.width / this.photo.width, this.height / this.photo.height) * 0.98; }

  zoomTo(scale, about) {
    const [px, py] = this.toPhoto(about);
    this.scale = clamp(scale, Math.min(this.wholeScale / 2, 1), CLOSEST);
    this.x = px - about[0] / this.scale;
    this.y = py - about[1] / this.scale;
    this.keepInReach();
  }

  zoomBy(factor, about) { this.zoomTo(this.scale * factor, about); }

  panBy(dx, dy) {
    this.x -= dx / this.scale;
    this.y -= dy / this.scale;
    this.keepInReach();
  }

  // At least an eighth of the stage always shows some of the photo.
  keepInReach() {
    const w = this.width / this.scale, h = this.height / this.scale;
    this.x = clamp(this.x, -w * 0.875, this.photo.width - w * 0.125);
    this.y = clamp(this.y, -h * 0.875, this.photo.height - h * 0.125);
  }

  whole() {
    this.scale = this.wholeScale;
    this.centreOn([this.photo.width / 2, this.photo.height / 2]);
  }

  centreOn([x, y]) {
    this.x = x - this.width / 2 / this.scale;
    this.y = y - this.height / 2 / this.scale;
    this.keepInReach();
  }

  // Bring a box of the photo into sight; the zoom changes only if the box is too large or a speck.
  show([x0, y0, x1, y1]) {
    const w = Math.max(x1 - x0, 1), h = Math.max(y1 - y0, 1);
    const fits = Math.min((this.width * 0.7) / w, (this.height * 0.7) / h);
    if (this.scale > fits || Math.max(w, h) * this.scale < 24) this.scale = clamp(fits, this.wholeScale, 4);
    const [sx0, sy0] = this.toScreen([x0, y0]), [sx1, sy1] = this.toScreen([x1, y1]);
    if (sx0 < 30 || sy0 < 30 || sx1 > this.width - 30 || sy1 > this.height - 30)
      this.centreOn([(x0 + x1) / 2, (y0 + y1) / 2]);
  }

  // Move just far enough that a place of the photo is at least `margin` px inside the stage.
  follow(p, margin) {
    const [sx, sy] = this.toScreen(p);
    const dx = sx < margin ? margin - sx : sx > this.width - margin ? this.width - margin - sx : 0;
    const dy = sy < margin ? margin - sy : sy > this.height - margin ? this.height - margin - sy : 0;
    if (dx || dy) this.panBy(dx, dy);
  }

  get isWhole() { return Math.abs(this.scale / this.wholeScale - 1) < 1e-6; }

  resize(width, height) {
    const whole = this.isWhole;
    const centre = this.toPhoto(this.middle);
    this.width = width;
    this.height = height;
    if (whole) this.whole();
    else this.centreOn(centre);
  }

  kept() { return { scale: this.scale, centre: this.toPhoto(this.middle) }; }

  restore({ scale, centre }) {
    this.scale = clamp(scale, Math.min(this.wholeScale / 2, 1), CLOSEST);
    this.centreOn(centre);
  }
}
