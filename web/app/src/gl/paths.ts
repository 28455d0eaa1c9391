// The paths of the tips, as the strips' shader wants them.
import type { Cuts } from "../cuts";

const width = 2048; // texels a row, two for each vertex

/** How the paths lie in the texture. */
export interface Paths {
  texels: Float32Array;
  rows: number;
  /** Vertices drawn when so many cuts are made: `upto[k]` for the first k cuts. */
  upto: Uint32Array;
  /** Stretches of vertices with the box they lie in, for leaving out what is not in view. */
  stretches: Stretch[];
  lowest: number; // z, mm
}

export interface Stretch {
  first: number;
  count: number;
  box: [number, number, number, number]; // x0, y0, x1, y1 of the tips
}

// A turn of the path times its shorter neighbour, mm, above which it is a corner: as package surface has it.
const corner = 1.5 * 8 * 0.0005;

const stretchMost = 512;

/** Lays out all vertices, twice at corners, with collapsed ones where a piece ends. */
export function layOut(cuts: Cuts): Paths {
  const { vertices, pieces } = cuts;
  const most = vertices.length / 4 * 2 + pieces.length * 4;
  let texels = new Float32Array(Math.max(1, Math.ceil(most * 2 / width)) * width * 4);
  const upto = new Uint32Array(cuts.count + 1);
  const stretches: Stretch[] = [];
  let n = 0, lowest = -0.001;
  let open: Stretch | null = null;
  const emit = (v: number, heading: number, rise: number, turn: number, collapsed: number) => {
    const x = vertices[v]!, y = vertices[v + 1]!, z = vertices[v + 2]!;
    const t = n * 8;
    texels[t] = x; texels[t + 1] = y; texels[t + 2] = z; texels[t + 3] = vertices[v + 3]!;
    texels[t + 4] = heading; texels[t + 5] = rise; texels[t + 6] = turn; texels[t + 7] = collapsed;
    if (z < lowest) lowest = z;
    if (!open) stretches.push(open = { first: n, count: 0, box: [x, y, x, y] });
    open.count = n + 1 - open.first;
    const b = open.box;
    if (x < b[0]) b[0] = x;
    if (y < b[1]) b[1] = y;
    if (x > b[2]) b[2] = x;
    if (y > b[3]) b[3] = y;
    n++;
    // The next stretch begins with this vertex, so that none is missing between.
    if (open.count >= stretchMost) stretches.push(open = { first: n - 1, count: 1, box: [x, y, x, y] });
  };
  for (const p of pieces) {
    if (p.count < 2) continue;
    const from = p.first * 4, last = (p.first + p.count - 1) * 4;
    open = null;
    const seg = (a: number, b: number) => {
      const dx = vertices[b]! - vertices[a]!, dy = vertices[b + 1]! - vertices[a + 1]!;
      const l = Math.hypot(dx, dy) || 1e-9;
      return { dx: dx / l, dy: dy / l, l, rise: (vertices[b + 2]! - vertices[a + 2]!) / l, turn: (vertices[b + 3]! - vertices[a + 3]!) / l };
    };
    let before = p.closed ? seg(last - 4, last) : null;
    for (let v = from; v <= last; v += 4) {
      const after = v < last ? seg(v, v + 4) : p.closed ? seg(from, from + 4) : null;
      const a = before ?? after!, b = after ?? before!;
      const turn = Math.atan2(a.dx * b.dy - a.dy * b.dx, a.dx * b.dx + a.dy * b.dy);
      const sharp = before && after && Math.abs(turn) * Math.min(a.l, b.l) > corner;
      if (v === from) emit(v, Math.atan2(b.dy, b.dx), 0, 0, 1);
      if (sharp) {
        if (v !== from) emit(v, Math.atan2(a.dy, a.dx), a.rise, a.turn, 0);
        if (v !== last) emit(v, Math.atan2(b.dy, b.dx), b.rise, b.turn, 0);
      } else {
        // The nearer neighbour says more about the direction here.
        const w = b.l / (a.l + b.l), k = 1 - w;
        emit(v, Math.atan2(a.dy * w + b.dy * k, a.dx * w + b.dx * k), a.rise * w + b.rise * k, a.turn * w + b.turn * k, 0);
      }
      if (v === last) emit(v, Math.atan2(a.dy, a.dx), 0, 0, 1);
      before = after;
    }
    upto[p.cut] = n;
  }
  for (let k = 1; k <= cuts.count; k++) if (!upto[k]) upto[k] = upto[k - 1]!;
  const rows = Math.max(1, Math.ceil(n * 2 / width));
  texels = texels.subarray(0, rows * width * 4);
  return { texels, rows, upto, stretches: stretches.filter((s) => s.count > 1), lowest };
}

export const pathsWidth = width;
