// The piece so far, small: cuts that are made stand light on those to come.
import { useEffect, useRef, useState } from "preact/hooks";
import { readCuts, type Cuts } from "../cuts";
import { runs } from "../count/runs";

const most = 400_000; // vertices; more takes too long to draw beside the count

export function SoFar({ run, upto, label }: { run: string; upto: number; label: string }) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const [cuts, setCuts] = useState<Cuts | null>(null);
  const drawn = useRef({ upto: 0, width: 0, cuts: null as Cuts | null });
  useEffect(() => {
    let gone = false;
    runs.cuts(run).then((data) => { if (!gone) setCuts(readCuts(data, run)); }, () => { /* the count does without */ });
    return () => { gone = true; };
  }, [run]);
  useEffect(() => {
    const c = canvas.current;
    if (!c || !cuts) return;
    const draw = () => {
      const width = Math.round(c.clientWidth * devicePixelRatio), was = drawn.current;
      if (!width) return;
      const pen = c.getContext("2d")!;
      const { xmin, ymin, xmax, ymax } = cuts.bounds;
      const scale = width * 0.94 / Math.max(xmax - xmin, ymax - ymin, 1e-6);
      const line = (from: number, to: number, colour: string) => {
        pen.strokeStyle = colour;
        pen.beginPath();
        for (const p of cuts.pieces) {
          if (p.cut < from || p.cut > to) continue;
          for (let k = 0; k < p.count; k++) {
            const at = (p.first + k) * 4;
            const x = width / 2 + (cuts.vertices[at]! - (xmin + xmax) / 2) * scale, y = width / 2 - (cuts.vertices[at + 1]! - (ymin + ymax) / 2) * scale;
            if (k) pen.lineTo(x, y); else pen.moveTo(x, y);
          }
        }
        pen.stroke();
      };
      if (was.width !== width || was.cuts !== cuts || upto < was.upto) {
        c.width = c.height = width;
        pen.lineWidth = Math.max(1, devicePixelRatio);
        line(upto + 1, Infinity, "#3a3d42");
        line(1, upto, "#d8d4ca");
      } else line(was.upto + 1, upto, "#d8d4ca");
      drawn.current = { upto, width, cuts };
    };
    draw();
    const seen = new ResizeObserver(draw);
    seen.observe(c);
    return () => seen.disconnect();
  }, [cuts, upto]);
  if (!cuts || cuts.vertices.length / 4 > most) return null;
  return <canvas class="so-far" ref={canvas} role="img" aria-label={label} />;
}
