// Of the bar: its edge from a drawing, the edge for a path, and files for other machines.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { Problem, type BarFacts } from "../api";
import { making, type Inverse, type Traced, type Wishes } from "../making";
import { job, order, told } from "../store";
import { degrees, fine, length } from "../units";
import { Chart } from "./chart";

const sayFaults = (e: unknown) => e instanceof Problem && e.body.faults?.length
  ? e.body.faults.map((f) => `${f.line ? `Line ${f.line}${f.column ? `, column ${f.column}` : ""}: ` : ""}${f.problem}. ${f.mend ? `Mend: ${f.mend}.` : ""}`) : [e instanceof Error ? e.message : String(e)];

const place = (unit: "mm" | "deg", v: number) => unit === "mm" ? length(v, 2) : degrees(v, 1);

/** A drawing, table or picture that is dropped, and the edge that it gives. */
export function Trace({ bar }: { bar: BarFacts }) {
  const j = job.value!;
  const [file, setFile] = useState<File | null>(null);
  const [wishes, setWishes] = useState<Wishes>({});
  const [traced, setTraced] = useState<Traced | null>(null);
  const [faults, setFaults] = useState<string[]>([]);
  const [name, setName] = useState("");
  const [over, setOver] = useState(false);
  const picture = !!file && /\.(png|jpe?g|tiff?)$/i.test(file.name);
  const ready = !picture || !!wishes.marks && Number(wishes.distance) > 0;
  useEffect(() => {
    if (!file || !ready) { setTraced(null); return; }
    let off = false;
    making.trace(j.id, bar.bar, file, wishes).then((t) => { if (!off) { setTraced(t); setFaults([]); } }, (e) => { if (!off) { setTraced(null); setFaults(sayFaults(e)); } });
    return () => { off = true; };
  }, [file, wishes, bar.bar]);
  const choose = (f: File | null | undefined) => {
    if (!f) return;
    setFaults(f.size > 32 << 20 ? ["The file is larger than a drawing can be (32 MiB)."] : []);
    if (f.size > 32 << 20) return;
    setFile(f); setWishes({}); setName(f.name.replace(/\.[^.]*$/, ""));
  };
  const take = () => {
    void order({ id: j.id, do: "ask", send: (rev) => making.take(j.id, bar.bar, file!, wishes, name.trim(), rev).catch((e) => { setFaults(sayFaults(e)); throw e; }) })
      .then(() => { if (job.value?.faults?.length === 0) { setFile(null); setTraced(null); } });
  };
  const wish = (w: Wishes) => setWishes({ ...wishes, ...w });
  return (
    <details class="trace" open={!!file || undefined}>
      <summary>An edge from a drawing or a picture</summary>
      <div class={`drop${over ? " over" : ""}`} onDragOver={(e) => { e.preventDefault(); setOver(true); }} onDragLeave={() => setOver(false)} onDrop={(e) => { e.preventDefault(); setOver(false); choose(e.dataTransfer?.files[0]); }}>
        <p>Drop an SVG or DXF drawing, a table of points (CSV), or a picture of a worn {bar.rosette ? "rosette" : "bar"} here, or{" "}
          <label class="word strong choose">choose a file<input type="file" class="unseen" accept=".svg,.dxf,.csv,.txt,.png,.jpg,.jpeg,.tif,.tiff" onChange={(e) => { choose(e.currentTarget.files?.[0]); e.currentTarget.value = ""; }} /></label>.</p>
        {file && <p class="quiet">{file.name}</p>}
      </div>
      {file && picture && <Marks file={file} wishes={wishes} wish={wish} />}
      {file && <p class="words">
        <label>Line <select class="entry" value={wishes.index ?? 0} onChange={(e) => wish({ index: Number(e.currentTarget.value) })}>
          <option value={0}>the longest</option>
          {(traced?.lines ?? []).map((l) => <option key={l.index} value={l.index}>{l.index}: {l.names[0] ?? l.kind}, {length(l.length_mm, 1)}</option>)}</select></label>
        <label>One unit of the drawing is <input class="entry" inputMode="decimal" size={6} placeholder="as it says" value={wishes.unit ?? ""} onChange={(e) => wish({ unit: e.currentTarget.value.replace(",", ".") })} /> mm</label>
        <label><input type="checkbox" checked={!!wishes.spline} onChange={(e) => wish({ spline: e.currentTarget.checked })} /> joined smoothly</label>
        {!bar.rosette && <label><input type="checkbox" checked={!!wishes.under} onChange={(e) => wish({ under: e.currentTarget.checked })} /> its lower side</label>}
      </p>}
      {faults.length > 0 && <div class="faults" role="alert">{faults.slice(0, 8).map((f) => <p key={f}>{f}</p>)}</div>}
      {file && traced && <>
        <Seen t={traced} bar={bar} />
        {traced.remarks.map((r) => <p key={r} class="quiet">{r}</p>)}
        <p>Take it as a new part named <input class="entry" aria-label="Name of the new part" value={name} onInput={(e) => setName(e.currentTarget.value)} />{" "}
          <button type="button" class="word strong" disabled={!name.trim()} onClick={take}>Take this edge</button> <button type="button" class="word" onClick={() => { setFile(null); setTraced(null); setFaults([]); }}>leave it</button></p>
      </>}
    </details>
  );
}

/** Two places whose distance is known, marked on the picture. */
function Marks({ file, wishes, wish }: { file: File; wishes: Wishes; wish: (w: Wishes) => void }) {
  const [url, setUrl] = useState("");
  const image = useRef<HTMLImageElement>(null);
  useEffect(() => { const u = URL.createObjectURL(file); setUrl(u); return () => URL.revokeObjectURL(u); }, [file]);
  const marks = (wishes.marks ?? "").split(",").filter(Boolean);
  const put = (e: MouseEvent) => {
    const i = image.current!, r = i.getBoundingClientRect();
    const at = [(e.clientX - r.left) / r.width * i.naturalWidth - 0.5, (e.clientY - r.top) / r.height * i.naturalHeight - 0.5].map((v) => v.toFixed(1));
    wish({ marks: (marks.length >= 4 ? at : [...marks, ...at]).join(",") });
  };
  return (
    <div class="marks">
      <p class="quiet">Photograph it square on, or scan it. Click two places whose distance is known, or write them in pixels from the upper left corner.</p>
      {url && <img ref={image} src={url} alt="The picture, to mark two places on" onClick={put} />}
      <p class="words"><label>Marks <input class="entry" size={24} placeholder="x, y, x, y" value={wishes.marks ?? ""} onChange={(e) => wish({ marks: e.currentTarget.value })} /></label>
        <label>They are <input class="entry" inputMode="decimal" size={6} value={wishes.distance ?? ""} onChange={(e) => wish({ distance: e.currentTarget.value.replace(",", ".") })} /> mm apart</label></p>
      {marks.length === 2 && <p class="quiet">One place is marked; mark the other.</p>}
    </div>
  );
}

function Seen({ t, bar }: { t: Traced; bar: BarFacts }) {
  const data = useMemo(() => ({
    x: t.points.map((p) => p[0]),
    lines: [{ label: "edge, mm", values: t.points.map((p) => p[1]), width: 2 }, { label: "the present edge", values: t.points.map((p) => sample(bar, p[0])), dash: [4, 4] }],
  }), [t, bar]);
  return <>
    <Chart label="The edge that was read" height={180} x={data.x} xLabel={t.unit === "mm" ? "along the bar, mm" : "round the rosette, °"} lines={data.lines} />
    <p class="quiet">Solid, the edge that was read, {t.points.length === 1 ? "one point" : `${t.points.length} points`} of {t.drawn_points} drawn{t.wave ? `, a wave of ${place(t.unit, t.wave)}` : ""}; dashed, the present one.</p>
  </>;
}

/** The present edge at a place, where it is drawn. */
function sample(b: BarFacts, at: number): number | null {
  const span = b.to - b.from;
  if (!span) return null;
  const k = (b.period ? ((at - b.from) % span + span) % span : at - b.from) / span * (b.at.length - 1);
  return k >= 0 && k <= b.at.length - 1 ? b.edge_mm[Math.round(k)] ?? null : null;
}

/** The edge that gives this one as the path on the work. */
export function InverseOf({ bar }: { bar: BarFacts }) {
  const j = job.value!;
  const [touch, setTouch] = useState(String(bar.touch_mm ?? 0.3));
  const [tool, setTool] = useState("");
  const [nearest, setNearest] = useState(false);
  const [v, setV] = useState<Inverse | null>(null);
  const [faults, setFaults] = useState<string[]>([]);
  const [name, setName] = useState(`${bar.bar}-made`);
  const body = () => ({ name: bar.bar, touch_mm: Number(touch.replace(",", ".")), tool_mm: Number(tool.replace(",", ".") || 0), nearest });
  const find = () => { making.inverse(j.id, body()).then((x) => { setV(x); setFaults([]); }, (e) => { setV(null); setFaults(sayFaults(e)); }); };
  useEffect(() => setV(null), [bar.bar, j.digest, touch, tool, nearest]);
  const take = () => {
    void order({ id: j.id, do: "ask", send: (if_revision) => making.takeInverse(j.id, { ...body(), take: name.trim(), if_revision }).catch((e) => { setFaults(sayFaults(e)); throw e; }) })
      .then(() => { told.value = told.value || "The edge is a part of its own now."; });
  };
  const data = useMemo(() => v && ({ x: v.at, lines: [{ label: "edge to make, mm", values: v.edge_mm, width: 2 }, { label: "path wanted", values: v.wanted_mm, dash: [4, 4] }, { label: "path it gives", values: v.path_mm, colour: "#8fb8de" }] }), [v]);
  return (
    <details class="inverse">
      <summary>The edge that gives this as the path on the work</summary>
      <p class="quiet">If the line above is not the edge but the motion wanted on the work, this is the {bar.rosette ? "rosette" : "bar"} to make for it.</p>
      <p class="words"><label>{bar.rosette ? "Rubber" : "Touchpiece"} radius <input class="entry" inputMode="decimal" size={6} value={touch} onInput={(e) => setTouch(e.currentTarget.value)} /> mm</label>
        <label>made by a tool of radius <input class="entry" inputMode="decimal" size={6} placeholder="any" value={tool} onInput={(e) => setTool(e.currentTarget.value)} /> mm</label>
        <label><input type="checkbox" checked={nearest} onChange={(e) => setNearest(e.currentTarget.checked)} /> the nearest to either side</label>
        <button type="button" class="word strong" onClick={find}>Find the edge</button></p>
      {faults.length > 0 && <div class="faults" role="alert">{faults.map((f) => <p key={f}>{f}</p>)}</div>}
      {v && data && <>
        <p>{v.possible ? "The path can be had everywhere." : `The path cannot be had everywhere: its bumps are sharper than the nose, and it falls short by up to ${fine(v.fall_um)}. The nearest that can be made strays ${fine(v.nearest_off_um)} to either side.`}
          {v.smallest_hollow_mm !== undefined && ` The tightest hollow of the edge has a radius of ${length(v.smallest_hollow_mm)}: no larger tool makes all of it.`}
          {` The path is steepest at ${degrees(v.steepest_deg, 1)}${v.steep ? "; above 30° the side thrust is felt, so do not force it" : ""}.`}
          {v.departure_um !== undefined && ` Over the edge as the tool leaves it the path strays ${fine(v.departure_um)}.`}</p>
        {v.missed.length > 0 && <ul class="plain">{v.missed.slice(0, 6).map((m, i) => <li key={i}>From {place(v.unit, m.from)} to {place(v.unit, m.to)} it falls short by up to {fine(m.depth_um)}.</li>)}</ul>}
        <Chart label="The edge to make and the path it gives" height={200} x={data.x} xLabel={v.unit === "mm" ? "along the stroke, mm" : "round the spindle, °"} lines={data.lines} />
        <p class="quiet">Solid, the edge to make; dashed, the path wanted; blue, the path it gives.</p>
        <p>Keep it as a new part named <input class="entry" aria-label="Name of the edge to make" value={name} onInput={(e) => setName(e.currentTarget.value)} />{" "}
          <button type="button" class="word strong" disabled={!name.trim()} onClick={take}>Keep this edge as a part</button></p>
      </>}
    </details>
  );
}

const groups: { of: string; files: [string, string, Record<string, string>?][] }[] = [
  { of: "The bar", files: [["bar.svg", "outline at true size, SVG"], ["bar.dxf", "the same, DXF"], ["bar.pdf", "template to print at 100 %, PDF"], ["bar.stl", "solid of 3 mm, STL"], ["bar.3mf", "the same, 3MF"], ["bar.ngc", "milled out of 3 mm sheet, G-code"]] },
  { of: "The cuts", files: [["cuts.svg", "paths of the tip, SVG"], ["cuts.dxf", "the same, DXF"], ["cuts.pdf", "at true size to print, PDF"], ["cuts.csv", "a row for each cut, CSV"], ["places.csv", "every place of the paths, CSV"], ["cuts.ngc", "for a machine that drags a point, G-code"]] },
  { of: "The surface", files: [["surface.png", "heights as 16-bit grey, PNG"], ["surface.stl", "5 mm square in the middle as a solid, STL", { tolerance: "0.005" }], ["surface.3mf", "the same, 3MF", { tolerance: "0.005" }]] },
];

/** Files for other programs and machines. */
export function Downloads({ bar }: { bar?: BarFacts }) {
  const j = job.value!;
  return (
    <details class="downloads">
      <summary>For other programs and machines</summary>
      {groups.filter((g) => bar || g.of !== "The bar").map((g) => (
        <div key={g.of}><h3>{g.of === "The bar" && bar?.rosette ? "The rosette" : g.of}</h3>
          <ul class="plain">{g.files.map(([file, words, options]) => <li key={file}><a class="word" download href={making.file(j.id, file, { ...options, ...(bar && file.startsWith("bar.") ? { name: bar.bar } : {}) })}>{file}</a> <span class="quiet">{words}</span></li>)}</ul></div>
      ))}
      <p class="quiet">G-code moves a machine: read it, run it above the work first, wear eye protection, clamp the part, and keep to the rules of your place and the machine’s maker. More wishes, cutter, holes, thickness, window, are those of the command <kbd>brightcut export</kbd>.</p>
    </details>
  );
}
