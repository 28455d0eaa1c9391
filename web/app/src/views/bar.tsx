// The bar: its edge, the touchpiece riding on it, and the path that it gives.
import { useEffect, useRef, useState } from "preact/hooks";
import { api, Problem, type BarFacts, type InPart } from "../api";
import { job, order, told } from "../store";
import { degrees, fine, length } from "../units";
import { Downloads, InverseOf, Trace } from "./making";

/** The drawing's size, in pixels of the screen. */
interface Frame { wide: number; high: number; side: number }

interface Scale { x: (at: number) => number; y: (mm: number) => number; at: (x: number) => number; height: (y: number) => number; up: number }

/** The drawing's scales: heights are drawn taller than they are, by a whole number, so that they can be seen. */
function scales(b: BarFacts, { wide, high, side }: Frame): Scale {
  const all = [...b.edge_mm, ...b.path_mm].filter(Number.isFinite), span = b.to - b.from || 1;
  // Room for the nose, but no more than half again of what the edge takes.
  const low = Math.min(...all), top = Math.max(...all), high0 = top + Math.min(2 * (b.touch_mm ?? 0), 1.5 * (top - low));
  let perAt = (wide - 2 * side) / span;
  let perMm = b.unit === "mm" ? perAt : (wide - 2 * side) / (2 * Math.PI * 20);
  const room = high - 58;
  const up = Math.max(1, Math.min(40, Math.floor(room / Math.max(1e-6, (high0 - low) * perMm))));
  const k = Math.min(perMm * up, room / Math.max(1e-6, high0 - low));
  if (k < perMm && b.unit === "mm") perAt = perMm = k; // narrower, but true to shape
  const left = (wide - span * perAt) / 2;
  return {
    x: (at) => left + (at - b.from) * perAt, y: (mm) => high - 34 - (mm - low) * k,
    at: (x) => b.from + (x - left) / perAt, height: (y) => low + (high - 34 - y) / k, up: k / perMm,
  };
}

export function Bar() {
  const j = job.value!;
  const [name, setName] = useState<string | undefined>();
  const [bar, setBar] = useState<BarFacts | null>(null);
  const [why, setWhy] = useState("");
  const [ride, setRide] = useState(0.3);
  const [points, setPoints] = useState<[number, number][] | null>(null); // while being changed
  const [tried, setTried] = useState<BarFacts | null>(null);
  const [question, setQuestion] = useState<InPart | null>(null);
  const [frame, setFrame] = useState<Frame>({ wide: 900, high: 320, side: 40 });
  const place = useRef<HTMLDivElement>(null);
  useEffect(() => {
    if (!place.current) return;
    const sized = new ResizeObserver(([e]) => {
      const wide = Math.max(240, Math.round(e!.contentRect.width));
      setFrame({ wide, high: Math.round(Math.min(360, Math.max(230, wide * 0.36))), side: wide < 600 ? 18 : 40 });
    });
    sized.observe(place.current);
    return () => sized.disconnect();
  }, [!bar]);
  useEffect(() => {
    let off = false;
    if (j.has?.bar === false) { setWhy("The job uses no bar: its lines are straight."); return; }
    api.bar(j.id, name, 900).then((b) => { if (!off) { setBar(b); setWhy(""); setPoints(null); setTried(null); } },
      (e: Error) => { if (!off) { setBar(null); setWhy(e.message); } });
    return () => { off = true; };
  }, [j.id, j.digest, name]);
  const trying = useRef(0);
  useEffect(() => {
    if (!points || !bar) return;
    const t = window.setTimeout(() => {
      const n = ++trying.current;
      api.barTry(j.id, { name: bar.bar, points, spline: bar.spline ?? false }).then((b) => { if (n === trying.current) { setTried(b); setWhy(""); } },
        (e: Error) => { if (n === trying.current) setWhy(e.message); });
    }, 60);
    return () => window.clearTimeout(t);
  }, [points]);
  if (!bar) return <section class="bar" aria-label="Bar"><p class="waiting">{why || "Looking at the bar …"}</p>{why && <Downloads />}</section>;
  const shown = tried ?? bar, s = scales(shown, frame);
  const keep = (scope?: "part" | "copy") => {
    const body = { name: bar.bar, points: points!, spline: bar.spline ?? false };
    setQuestion(null);
    void order({
      id: j.id, do: "ask", send: async (if_revision) => {
        try {
          return await api.barPoints(j.id, { ...body, if_revision, scope, part_name: scope === "copy" ? `${bar.bar}-${j.id}`.slice(0, 60) : undefined });
        } catch (e) {
          if (e instanceof Problem && e.is("in-part") && e.body.part) setQuestion(e.body.part);
          throw e;
        }
      },
    }).then(() => { told.value = told.value || "The edge is kept."; });
  };
  const drawn = points ?? bar.points ?? null;
  return (
    <section class="bar" aria-label="Bar">
      <h2>{shown.name}</h2>
      {bar.bars?.length > 1 && <p>Look at <select class="entry" aria-label="Which bar" value={bar.bar} onChange={(e) => setName(e.currentTarget.value)}>{bar.bars.map((b) => <option key={b.value} value={b.value}>{b.name || b.value}</option>)}</select></p>}
      <p class="lead">{words(shown)}</p>
      <div ref={place}><Drawing b={shown} s={s} frame={frame} ride={ride} points={drawn} setPoints={setPoints} /></div>
      <p class="quiet">White, the edge of the {shown.rosette ? "rosette" : "bar"}; dashed, the path of the {shown.rosette ? "rubber" : "touchpiece"}’s lowest point{shown.lost?.length ? "; hatched, where detail is lost" : ""}.</p>
      <p class="row says">
        <label class="slide">Touchpiece at <output>{along(shown, shown.from + ride * (shown.to - shown.from))}</output>
          <input type="range" min={0} max={1} step={0.002} value={ride} onInput={(e) => setRide(e.currentTarget.valueAsNumber)} /></label>
        <span class="quiet">{s.up < 1.05 && s.up > 0.95 ? "Drawn true to shape." : `Heights are drawn ${s.up.toFixed(s.up < 3 ? 1 : 0)} times as tall as they are.`}</span>
      </p>
      {points && <p><button type="button" class="word strong" onClick={() => keep()}>Keep this edge</button> or <button type="button" class="word" onClick={() => { setPoints(null); setTried(null); setWhy(""); }}>put it back</button></p>}
      {question && <p class="question" role="alertdialog" aria-label="Where is the edge to be kept">This edge stands in the file of “{question.id}”{question.used_by && question.used_by.length > 1 ? `, which ${question.used_by.length} jobs use` : ""}.{" "}
        <button type="button" class="word strong" onClick={() => keep("part")}>Change it there</button> or <button type="button" class="word" onClick={() => keep("copy")}>change a copy for this job</button></p>}
      {why && <p class="wrong-word" role="alert">{why}</p>}
      {!drawn && <p class="quiet"><button type="button" class="word" onClick={() => setPoints(startingPoints(bar))}>Draw the edge by points</button>, starting from this one.</p>}
      {drawn && <Points b={shown} points={drawn} setPoints={setPoints} />}
      {shown.lost && shown.lost.length > 0 && <>
        <h3>Detail lost</h3>
        <ul class="plain">{shown.lost.slice(0, 12).map((l, i) => <li key={i}>From {along(shown, l.from)} to {along(shown, l.to)} the touchpiece stays off the edge by up to {fine(l.depth_um)}.</li>)}</ul>
        {shown.lost.length > 12 && <p class="quiet">and {shown.lost.length - 12} more places.</p>}
      </>}
      <Trace key={`trace-${bar.bar}`} bar={bar} />
      <InverseOf key={`inverse-${bar.bar}`} bar={bar} />
      <Downloads bar={bar} />
    </section>
  );
}

const along = (b: BarFacts, v: number) => b.unit === "mm" ? length(v, 2) : degrees(v, 1);

function words(b: BarFacts): string {
  const out = [`${b.rosette ? "A rosette" : "A bar"} of figure ${b.figure}`];
  if (b.touch_mm) out.push(`felt by a ${b.rosette ? "rubber" : "touchpiece"} of ${length(b.touch_mm, 2)} radius`);
  let text = out.join(", ") + ".";
  if (b.drawn_mm !== undefined && b.left_mm !== undefined) text += ` Half the height of the edge is ${length(b.drawn_mm)}; of the path it gives, ${length(b.left_mm)}.`;
  if (b.smallest_hollow_mm !== undefined) {
    text += b.smallest_hollow_mm > 0 ? ` The tightest hollow has a radius of ${length(b.smallest_hollow_mm)}` : " Its hollows have sharp corners";
    if (b.touch_mm && b.touch_mm > b.smallest_hollow_mm) {
      const rider = b.rosette ? "rubber" : "touchpiece";
      text += b.lost?.length ? `, less than the ${rider}: it cannot reach the bottom` : `, but what the ${rider} misses there is too little to see`;
    }
    text += ".";
  }
  if (b.steepest_path_deg !== undefined) text += ` The path is steepest at ${degrees(b.steepest_path_deg, 2)}.`;
  return text;
}

/** A dozen points of the edge over a period, for one who wants to draw on. */
function startingPoints(b: BarFacts): [number, number][] {
  const until = Math.min(b.to, b.from + (b.period || b.to - b.from)), n = 12;
  return Array.from({ length: n + 1 }, (_, i) => {
    const at = b.from + i * (until - b.from) / n;
    const k = Math.round((at - b.from) / ((b.to - b.from) || 1) * (b.at.length - 1));
    return [Number(at.toFixed(3)), Number((b.edge_mm[k] ?? 0).toFixed(4))] as [number, number];
  });
}

function Drawing({ b, s, frame: { wide, high }, ride, points, setPoints }: { b: BarFacts; s: Scale; frame: Frame; ride: number; points: [number, number][] | null; setPoints: (p: [number, number][]) => void }) {
  const svg = useRef<SVGSVGElement>(null);
  const held = useRef<number | null>(null);
  const touch = b.touch_mm ?? 0;
  const path = (v: number[]) => v.map((h, i) => `${i ? "L" : "M"}${s.x(b.at[i]!).toFixed(1)} ${s.y(h).toFixed(1)}`).join("");
  const k = Math.round(ride * (b.at.length - 1)), cx = s.x(b.at[k] ?? 0), cy = s.y(b.path_mm[k] ?? 0);
  // The nose is drawn in the drawing's own stretched scale: an upright ellipse standing on the edge.
  const rx = Math.abs(s.x(b.from + touch) - s.x(b.from)), ry = Math.abs(s.y(0) - s.y(touch));
  const reach = Math.min(11, Math.max(4, wide / (points?.length ?? 1) / 2.5)); // many points leave each less room
  const lost = (b.lost ?? []).map((l, i) => <rect key={i} class="lost" x={s.x(l.from)} y={0} width={Math.max(2, s.x(l.to) - s.x(l.from))} height={high} />);
  const move = (e: PointerEvent) => {
    if (held.current === null || !points) return;
    const r = svg.current!.getBoundingClientRect();
    const x = (e.clientX - r.left) / r.width * wide, y = (e.clientY - r.top) / r.height * high;
    setPoints(shifted(points, held.current, s.at(x), s.height(y)));
  };
  const key = (i: number) => (e: KeyboardEvent) => {
    const by = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[e.key];
    if (!by || !points) return;
    e.preventDefault();
    const q = e.shiftKey ? 0.1 : 0.01;
    setPoints(shifted(points, i, points[i]![0] + by[0]! * q, points[i]![1] + by[1]! * q));
  };
  return (
    <svg ref={svg} viewBox={`0 0 ${wide} ${high}`} class="bar-drawing" role="group" aria-label={`The edge of ${b.bar || b.name} with the touchpiece on it`}
      onPointerMove={move} onPointerUp={() => { held.current = null; }} onPointerLeave={() => { held.current = null; }}>
      <defs><pattern id="hatch" width="7" height="7" patternTransform="rotate(45)" patternUnits="userSpaceOnUse"><line x1="0" y1="0" x2="0" y2="7" stroke="#f0876f" stroke-width="2" /></pattern></defs>
      {lost}
      <path class="metal" d={`${path(b.edge_mm)}L${s.x(b.to).toFixed(1)} ${high - 10}L${s.x(b.from).toFixed(1)} ${high - 10}Z`} />
      <path class="edge" d={path(b.edge_mm)} />
      <path class="path" d={path(b.path_mm)} />
      {touch > 0 && <ellipse class="nose" cx={cx} cy={cy - ry} rx={rx} ry={ry} />}
      <circle class="tip" cx={cx} cy={cy} r={3.5} />
      {points?.map(([at, h], i) => (
        <circle key={i} class="point" cx={s.x(at)} cy={s.y(h)} r={reach} tabIndex={0} role="slider" aria-label={`Point ${i + 1}`}
          aria-valuenow={Number(h.toFixed(3))} aria-valuetext={`${at.toFixed(2)} along, ${h.toFixed(3)} high`}
          onPointerDown={(e) => { held.current = i; e.preventDefault(); (e.currentTarget as SVGElement).focus(); }} onKeyDown={key(i)} />
      ))}
    </svg>
  );
}

/** The points with one moved, kept between its neighbours. */
function shifted(points: [number, number][], i: number, at: number, h: number): [number, number][] {
  const gap = 0.005;
  const least = i > 0 ? points[i - 1]![0] + gap : points[0]![0], most = i < points.length - 1 ? points[i + 1]![0] - gap : points[i]![0];
  const fixed = i === 0 || i === points.length - 1; // the ends keep their places
  const next = points.map((p) => [...p] as [number, number]);
  next[i] = [fixed ? points[i]![0] : Number(Math.min(most, Math.max(least, at)).toFixed(4)), Number(h.toFixed(4))];
  return next;
}

function Points({ b, points, setPoints }: { b: BarFacts; points: [number, number][]; setPoints: (p: [number, number][]) => void }) {
  return (
    <details class="points">
      <summary>The {points.length} points in figures</summary>
      <table>
        <thead><tr><th scope="col">along, {b.unit}</th><th scope="col">height, mm</th><th scope="col"><span class="unseen">Change</span></th></tr></thead>
        <tbody>
          {points.map((p, i) => (
            <tr key={i}>
              {[0, 1].map((k) => <td key={k}><input class="entry" type="number" step="any" aria-label={`Point ${i + 1}, ${k ? "height" : "along"}`} value={p[k]}
                onChange={(e) => { const v = e.currentTarget.valueAsNumber; if (Number.isFinite(v)) setPoints(points.map((q, n) => n === i ? (k ? [q[0], v] : [v, q[1]]) : q)); }} /></td>)}
              <td>{i < points.length - 1 && <button type="button" class="word" onClick={() => setPoints([...points.slice(0, i + 1), [(p[0] + points[i + 1]![0]) / 2, (p[1] + points[i + 1]![1]) / 2], ...points.slice(i + 1)])}>add behind</button>}
                {points.length > 2 && i > 0 && i < points.length - 1 && <button type="button" class="word" onClick={() => setPoints(points.filter((_, n) => n !== i))}>take out</button>}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </details>
  );
}
