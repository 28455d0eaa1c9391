// What is drawn over the piece: the scale bar, the cut pointed at, the ruler's line,
// and where flanks flash while the lamp moves.
import { camera, drawingLine, lamp, line, look } from "../piece";
import { cuts, job, pointed, shownUnits, upto } from "../store";
import { length } from "../units";

const accent = "#e8b15c", ink = "#f2efe8";

export function overlay(canvas: HTMLCanvasElement, ratio: number, sinceLamp: number): void {
  const g = canvas.getContext("2d");
  if (!g) return;
  const { width: w, height: h } = canvas, c = camera.value;
  g.setTransform(1, 0, 0, 1, 0, 0);
  g.clearRect(0, 0, w, h);
  const X = (x: number) => (x - c.x) * c.scale + w / 2, Y = (y: number) => h / 2 - (y - c.y) * c.scale;
  g.lineJoin = g.lineCap = "round";
  const list = cuts.value;
  const trace = (first: number, count: number) => {
    const v = list!.vertices;
    for (let i = first; i < first + count; i++) {
      const x = X(v[i * 4]!), y = Y(v[i * 4 + 1]!);
      if (i === first) g.moveTo(x, y);
      else g.lineTo(x, y);
    }
  };
  if (list && look.value === "lines") {
    g.strokeStyle = ink;
    g.lineWidth = ratio;
    g.beginPath();
    for (const p of list.pieces) if (p.cut <= upto.value) trace(p.first, p.count);
    g.stroke();
  }
  if (list && pointed.value) {
    for (const [colour, width] of [["rgba(10,10,12,0.75)", 5], [accent, 2.2]] as const) {
      g.strokeStyle = colour;
      g.lineWidth = width * ratio;
      g.beginPath();
      for (const p of list.pieces) if (p.cut === pointed.value) trace(p.first, p.count);
      g.stroke();
    }
  }
  flashRing(g, w, h, ratio, sinceLamp);
  if (line.value) ruler(g, line.value, X, Y, ratio);
  scaleBar(g, h, c.scale, ratio);
}

/** Where the lamp must stand for a flank of this cutter to flash, faintly. */
function flashRing(g: CanvasRenderingContext2D, w: number, h: number, ratio: number, since: number): void {
  const cutter = job.value?.cutter;
  if (!cutter || since > 900 || look.value !== "metal" || drawingLine.value) return;
  const half = Math.min(w, h) / 2, off = 180 - cutter.included_deg; // of the vertical
  g.globalAlpha = 0.28 * Math.min(1, (900 - since) / 400);
  g.strokeStyle = ink;
  g.lineWidth = ratio;
  g.setLineDash([2 * ratio, 6 * ratio]);
  if (off < 78) {
    g.beginPath();
    g.arc(w / 2, h / 2, off / 78 * half, 0, 2 * Math.PI);
    g.stroke();
  }
  g.setLineDash([]);
  const r = (90 - lamp.value.height) / 78 * half, a = lamp.value.azimuth * Math.PI / 180;
  g.globalAlpha *= 2;
  g.beginPath();
  g.arc(w / 2 + r * Math.cos(a), h / 2 - r * Math.sin(a), 7 * ratio, 0, 2 * Math.PI);
  g.stroke();
  g.globalAlpha = 1;
}

function ruler(g: CanvasRenderingContext2D, l: [number, number, number, number], X: (x: number) => number, Y: (y: number) => number, ratio: number): void {
  const a = [X(l[0]), Y(l[1])] as const, b = [X(l[2]), Y(l[3])] as const;
  const n = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1, tx = -(b[1] - a[1]) / n * 6 * ratio, ty = (b[0] - a[0]) / n * 6 * ratio;
  for (const [colour, width] of [["rgba(10,10,12,0.8)", 4.5], [accent, 1.8]] as const) {
    g.strokeStyle = colour;
    g.lineWidth = width * ratio;
    g.beginPath();
    g.moveTo(...a);
    g.lineTo(...b);
    for (const p of [a, b]) { g.moveTo(p[0] - tx, p[1] - ty); g.lineTo(p[0] + tx, p[1] + ty); }
    g.stroke();
  }
}

/** A bar of a round length, about a fifth of the picture at most. */
function scaleBar(g: CanvasRenderingContext2D, h: number, scale: number, ratio: number): void {
  const unit = shownUnits.value === "inch" ? 25.4 : 1;
  const most = 150 * ratio / scale / unit;
  const ten = 10 ** Math.floor(Math.log10(most));
  const n = [5, 2, 1].find((k) => k * ten <= most)! * ten;
  const px = n * unit * scale, x = 18 * ratio, y = h - 20 * ratio;
  const mm = n * unit;
  const text = unit === 1 && n < 0.1 ? `${Math.round(n * 1000)} \u00b5m` : length(mm, n >= 1 ? 0 : Math.ceil(-Math.log10(n) - 1e-9)).replace(/(\.\d*?)0+ /, "$1 ").replace(/\. /, " ");
  g.font = `${14 * ratio}px system-ui, sans-serif`;
  const pixel = 1000 * ratio / scale; // on the screen's own scale of pixels
  const both = `${text}  \u00b7  ${pixel >= 10 ? Math.round(pixel) : pixel.toFixed(1)} \u00b5m a pixel`;
  const wide = Math.max(px, g.measureText(both).width);
  g.fillStyle = "rgba(14,15,18,0.72)";
  g.fillRect(x - 10 * ratio, y - 26 * ratio, wide + 20 * ratio, 38 * ratio);
  g.strokeStyle = g.fillStyle = ink;
  g.lineWidth = 2 * ratio;
  g.lineCap = "butt";
  g.beginPath();
  g.moveTo(x, y - 4 * ratio);
  g.lineTo(x, y + 3 * ratio);
  g.lineTo(x + px, y + 3 * ratio);
  g.lineTo(x + px, y - 4 * ratio);
  g.stroke();
  g.fillText(both, x, y - 9 * ratio);
}
