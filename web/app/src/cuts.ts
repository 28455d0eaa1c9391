// The list of cuts as the server sends it, for drawing and for pointing at.

export interface Piece {
  cut: number; // number of its cut, from 1
  first: number; // vertex
  count: number;
  closed: boolean;
}

export interface Cuts {
  digest: string; // of the job that they are of
  count: number;
  pieces: Piece[];
  bounds: { xmin: number; ymin: number; xmax: number; ymax: number }; // mm
  vertices: Float32Array; // x, y, z (mm) and the direction of the V (rad), in turn
}

/** Finds the cut whose path passes nearest to a place, within reach (mm). */
export function cutNear(cuts: Cuts, x: number, y: number, reach: number, upto: number): number {
  const v = cuts.vertices;
  let best = reach * reach, found = 0;
  for (const p of cuts.pieces) {
    if (p.cut > upto) continue;
    let ax = v[p.first * 4]!, ay = v[p.first * 4 + 1]!;
    for (let i = p.first + 1, end = p.first + p.count; i < end; i++) {
      const bx = v[i * 4]!, by = v[i * 4 + 1]!;
      const dx = bx - ax, dy = by - ay, l = dx * dx + dy * dy;
      const t = l > 0 ? Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / l)) : 0;
      const ex = ax + t * dx - x, ey = ay + t * dy - y, d = ex * ex + ey * ey;
      if (d < best) { best = d; found = p.cut; }
      ax = bx; ay = by;
    }
  }
  return found;
}

/** Reads cuts.bin; throws where it is not what docs/api.md says. */
export function readCuts(data: ArrayBuffer, digest: string): Cuts {
  const head = new DataView(data);
  if (data.byteLength < 64 || head.getUint32(0, false) !== 0x42435554 || head.getUint32(4, true) !== 1) {
    throw new Error("the list of cuts came in a form that this page does not know; load the page anew");
  }
  const count = head.getUint32(8, true), n = head.getUint32(12, true), total = head.getUint32(16, true);
  const table = new Uint32Array(data, 64, n * 4);
  const pieces: Piece[] = [];
  for (let i = 0; i < n; i++) {
    pieces.push({ cut: table[i * 4]!, first: table[i * 4 + 1]!, count: table[i * 4 + 2]!, closed: (table[i * 4 + 3]! & 1) === 1 });
  }
  const bounds = { xmin: head.getFloat32(20, true), ymin: head.getFloat32(24, true), xmax: head.getFloat32(28, true), ymax: head.getFloat32(32, true) };
  return { digest, count, pieces, bounds, vertices: new Float32Array(data, 64 + n * 16, total * 4) };
}
