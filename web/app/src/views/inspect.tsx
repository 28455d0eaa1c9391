// Inspect: measured widths against the plan, what can be the cause, what is kept of it.
import { useEffect, useState } from "preact/hooks";
import { Problem } from "../api";
import { inspection, type Inspection, type Report } from "../inspection";
import { newID, runs } from "../count/runs";
import { job, runHeard, told } from "../store";
import { fine } from "../units";
import { go, way } from "../way";
import { Causes, KeptHere } from "./causes";
import { useRuns } from "./start";

export function Inspect() {
  const j = job.value!;
  const { lines, wrong } = useRuns();
  const mine = lines?.filter((r) => r.job === j.id && !r.torn) ?? [];
  const run = way.value.look && mine.some((r) => r.id === way.value.look) ? way.value.look : mine[0]?.id ?? null;
  const [found, setFound] = useState<Inspection | null>(null);
  const [why, setWhy] = useState("");
  const [next, setNext] = useState<{ cut: number; place: number } | null>(null);
  const [kept, setKept] = useState(0);
  const look = () => {
    if (!run) return;
    inspection.get(run).then((x) => { setFound(x); setWhy(""); }, (e: Error) => setWhy(e.message));
  };
  useEffect(() => { setFound(null); look(); }, [run]);
  useEffect(look, [runHeard.value]);
  return (
    <section class="inspect" aria-labelledby="inspect-title">
      <h2 id="inspect-title">Inspect</h2>
      {lines && !mine.length && <p class="lead">No run of this job was counted yet. <a href={`#/${encodeURIComponent(j.id)}/count`}>Count one</a>, then measure its grooves under the microscope and tell the widths here.</p>}
      {run && <p class="which"><label>Run <select class="entry" value={run} onChange={(e) => go(`#/${encodeURIComponent(j.id)}/inspect/${encodeURIComponent(e.currentTarget.value)}`)}>
        {mine.map((r) => <option key={r.id} value={r.id}>{new Date(r.started).toLocaleString(undefined, { dateStyle: "long", timeStyle: "short" })}, {r.state}</option>)}</select></label></p>}
      {(wrong || why) && <p class="wrong-word" role="alert">{wrong || why}</p>}
      {run && !found && !why && <p class="waiting">Comparing the widths with the plan …</p>}
      {run && found && found.run === run && <>
        <Enter found={found} next={next} taken={(x) => { setNext(null); if (x) setFound(x); else look(); }} />
        {found.report && <>
          <Summary report={found.report} />
          <Causes report={found.report} run={run} unit={found.reading_unit} measure={(m) => { setNext(m); document.getElementById("measured-width")?.focus(); }} keep={() => setKept(kept + 1)} />
          <Drawings run={run} measured={found.measured} />
          <Largest report={found.report} unit={found.reading_unit} />
        </>}
        <KeptHere again={kept} />
        <Papers run={run} />
      </>}
      <Takes id={j.id} again={run ?? ""} />
    </section>
  );
}

/** One width at a time, or a table. */
function Enter({ found, next, taken }: { found: Inspection; next: { cut: number; place: number } | null; taken: (x: Inspection | null) => void }) {
  const angle = found.reading_unit === "rad";
  const [cut, setCut] = useState("1");
  const [place, setPlace] = useState("");
  const [width, setWidth] = useState("");
  const [table, setTable] = useState("");
  const [faults, setFaults] = useState<string[]>([]);
  useEffect(() => {
    if (!next) return;
    setCut(String(next.cut));
    setPlace((angle ? next.place * 180 / Math.PI : next.place).toFixed(2));
  }, [next]);
  const say = (e: unknown) => setFaults(e instanceof Problem && e.body.faults?.length ? e.body.faults.map((f) => `${f.line ? `Line ${f.line}: ` : ""}${f.problem}. ${f.mend ?? ""}`) : [e instanceof Error ? e.message : String(e)]);
  const add = async (e: Event) => {
    e.preventDefault();
    const n = Number(cut), p = Number(place.replace(",", ".")), w = Number(width.replace(",", "."));
    const problems = [
      Number.isInteger(n) && n >= 1 && n <= found.strokes ? "" : `The cuts are numbered from 1 to ${found.strokes}.`,
      place.trim() && Number.isFinite(p) ? "" : "Say where along the stroke the width was measured.",
      width.trim() && w > 0 && w < 100000 ? "" : "Give the width in µm, above 0.",
    ].filter(Boolean);
    setFaults(problems);
    if (problems.length) return;
    try {
      const a = await runs.keep(found.run, [{ id: newID(), kind: "measured", cut: n, at: new Date().toISOString(), seen: 0, reading: p, width_um: w }]);
      const refused = a.outcomes.find((o) => o.outcome === "refused");
      if (refused) throw new Error(refused.why ?? "The width was not taken.");
      told.value = `Cut ${n}: ${w} µm is in the log.`;
      setWidth("");
      setCut(String(Math.min(found.strokes, n + Math.max(1, Math.round(found.strokes / 20)))));
      taken(null);
      document.getElementById("measured-width")?.focus();
    } catch (err) { say(err); }
  };
  const send = async () => {
    setFaults([]);
    try {
      taken(await inspection.widths(found.run, table));
      setTable("");
      told.value = "The widths are in the log.";
    } catch (e) { say(e); }
  };
  const drop = (e: DragEvent) => {
    e.preventDefault();
    const f = e.dataTransfer?.files[0];
    if (f && f.size > 8 << 20) setFaults(["The file is larger than a table of widths can be (8 MiB)."]);
    else if (f) void f.text().then(setTable);
    else setTable(e.dataTransfer?.getData("text") ?? "");
  };
  return (
    <>
      <form class="measured" onSubmit={(e) => void add(e)}>
        <p>Cut <input class="entry" type="number" min={1} max={found.strokes} aria-label="Cut measured" value={cut} onInput={(e) => setCut(e.currentTarget.value)} /> at{" "}
          <input class="entry" inputMode="decimal" aria-label={angle ? "Place measured, degrees of the spindle" : "Place measured, mm along the stroke"} size={6} value={place} onInput={(e) => setPlace(e.currentTarget.value)} /> {angle ? "°" : "mm"} is{" "}
          <input id="measured-width" class="entry" inputMode="decimal" aria-label="Width measured, µm" size={6} value={width} onInput={(e) => setWidth(e.currentTarget.value)} /> µm wide.{" "}
          <button type="submit" class="word strong">Add this width</button></p>
      </form>
      <details open={!!table || undefined}>
        <summary>A table of widths</summary>
        <p class="quiet">Paste or drop a line for each width: cut, place along the stroke, width, with a first line that names the columns and their units.</p>
        <textarea class="text" rows={5} aria-label="Widths as a table" spellcheck={false} placeholder={angle ? "cut, angle deg, width um\n12, 40, 193\n…" : "cut, place mm, width um\n12, 14.5, 193\n…"} value={table}
          onInput={(e) => setTable(e.currentTarget.value)} onDragOver={(e) => e.preventDefault()} onDrop={drop} />
        <p><button type="button" class="word strong" disabled={!table.trim()} onClick={() => void send()}>Take these widths</button></p>
      </details>
      {faults.length > 0 && <div class="faults" role="alert">{faults.slice(0, 8).map((f) => <p key={f}>{f}</p>)}</div>}
      {!found.measured && <p class="quiet">Nothing was measured in this run yet. A dozen widths spread over the cuts and along the stroke tell most; the first are worth reading twice.</p>}
    </>
  );
}

function Summary({ report: r }: { report: Report }) {
  return (
    <>
      <p class="lead">{(r.residuals ?? []).length} widths; they lie {fine(1000 * r.rms_mm)} off the plan (root mean square), {Math.round(100 * r.out_of_tolerance)} % of them by more than the tolerance of {Number((100 * r.tolerance).toFixed(1))} %.
        {" "}One width is taken to be sure to {fine(1000 * r.repeatability_mm)} ({r.repeatability_basis}).</p>
      {(r.remarks ?? []).map((x) => <p key={x} class="quiet">{x}</p>)}
      {(r.misread ?? []).map((x) => <p key={x.text}>{x.text}</p>)}
    </>
  );
}

function Drawings({ run, measured }: { run: string; measured: number }) {
  return (
    <div class="drawings">
      <figure><img src={inspection.drawing(run, "chart", measured)} alt="How far each width is off the plan, cut by cut; the table below has the same" /><figcaption>How far each width is off, by cut, with the tolerance and what the causes make of it.</figcaption></figure>
      <figure><img src={inspection.drawing(run, "map", measured)} alt="Where on the work the widths are off; the table below has the same" /><figcaption>Filled discs are too wide, open ones too narrow; the larger, the further off.</figcaption></figure>
    </div>
  );
}

function Largest({ report, unit }: { report: Report; unit: "mm" | "rad" }) {
  const all = [...report.residuals ?? []].sort((a, b) => Math.abs(b.off_mm) - Math.abs(a.off_mm));
  const [more, setMore] = useState(false);
  const shown = more ? all : all.slice(0, 12);
  const at = (p: number) => unit === "rad" ? `${(p * 180 / Math.PI).toFixed(1)}°` : `${p.toFixed(2)} mm`;
  if (!all.length) return null;
  return (
    <>
      <h3>Furthest off first</h3>
      <div class="wide" tabIndex={0} role="region" aria-label="Widths, furthest off first"><table>
        <thead><tr><th scope="col">cut</th><th scope="col">at</th><th scope="col">measured</th><th scope="col">planned</th><th scope="col">off</th><th scope="col">the causes say</th></tr></thead>
        <tbody>{shown.map((r, i) => (
          <tr key={i}><th scope="row">{r.cut}</th><td>{at(r.place)}</td><td>{fine(1000 * r.width_mm)}</td><td>{fine(1000 * r.planned_mm)}</td>
            <td class={r.out_of_tolerance ? "wrong-word" : undefined}>{r.off_mm > 0 ? "+" : ""}{fine(1000 * r.off_mm)}{r.out_of_tolerance ? ", out" : ""}</td><td>{fine(1000 * r.told_mm)}</td></tr>
        ))}</tbody>
      </table></div>
      {all.length > 12 && <p><button type="button" class="word" onClick={() => setMore(!more)}>{more ? "Show the twelve furthest off" : `Show all ${all.length}`}</button></p>}
    </>
  );
}

function Papers({ run }: { run: string }) {
  return (
    <>
      <h3>The record</h3>
      <p class="words"><a class="word strong" href={inspection.paper(run, "pdf")} target="_blank">Record as PDF</a> <a class="word" href={inspection.paper(run, "html")} target="_blank">as a page</a>{" "}
        <a class="word" href={inspection.paper(run, "txt")} target="_blank">as text</a> <a class="word" href={inspection.file(run)} download>The run as one file</a></p>
      <p class="quiet">Settings, plan, what was done when, widths, causes, picture and every file of the job: enough to cut a matching piece years later.</p>
    </>
  );
}

/** What the next one takes. */
function Takes({ id, again }: { id: string; again: string }) {
  const [text, setText] = useState<string[]>([]);
  useEffect(() => {
    let off = false;
    inspection.quote(id).then((q) => { if (!off) setText(q.text); }, (e: Error) => { if (!off) setText([`What it takes cannot be reckoned: ${e.message}`]); });
    return () => { off = true; };
  }, [id, again, job.value?.digest]);
  if (!text.length) return null;
  return <><h3>What a piece takes</h3>{text.map((t) => <p key={t}>{t}</p>)}</>;
}
