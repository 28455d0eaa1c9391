// What can be the cause of what is off, and what the workshop keeps of it.
import { useEffect, useState } from "preact/hooks";
import { inspection, type Cause, type Kept, type Measure, type Report } from "../inspection";
import { told } from "../store";

interface Props { report: Report; run: string; unit: "mm" | "rad"; measure: (m: Measure) => void; keep: () => void }

export function Causes({ report, run, unit, measure, keep }: Props) {
  const all = report.causes ?? [];
  if (!all.length) return <p>Nothing but the scatter of the readings is needed to explain them.</p>;
  const hold = async (cause: number, rival: number, what: string) => {
    try {
      await inspection.keep(run, cause, rival);
      told.value = `${what} is kept; the next plan goes by it.`;
      keep();
    } catch (e) { told.value = (e as Error).message; }
  };
  return (
    <>
      <h3>{all.length === 1 ? "What can be the cause" : "What can be the causes, the surest first"}</h3>
      <ol class="causes">{all.map((c, i) => <One key={i} c={c} unit={unit} measure={measure} keep={(rival, what) => void hold(i + 1, rival, what)} />)}</ol>
    </>
  );
}

function One({ c, unit, measure, keep }: { c: Cause; unit: "mm" | "rad"; measure: (m: Measure) => void; keep: (rival: number, what: string) => void }) {
  const at = (p: number) => unit === "rad" ? `${(p * 180 / Math.PI).toFixed(1)}°` : `${p.toFixed(2)} mm`;
  const rivals = c.rivals ?? [], places = c.measure ?? [];
  return (
    <li>
      <p class="cause">{c.text} <span class="quiet">Evidence: {c.evidence_words}.</span></p>
      {c.undecided && <p>{c.undecided}</p>}
      {places.length > 0 && <p class="words">{places.slice(0, 4).map((m, i) => <button key={i} type="button" class="word" onClick={() => measure(m)}>Measure cut {m.cut} at {at(m.place)}</button>)}</p>}
      <p><strong>At the bench:</strong> {c.bench}</p>
      {c.caution && <p class="quiet">{c.caution}</p>}
      {c.corrects ? <p><button type="button" class="word strong" onClick={() => keep(0, c.text)}>Keep this for later jobs</button></p>
        : <p class="quiet">This was of the piece, not of the workshop: nothing is kept of it.</p>}
      {rivals.length > 0 && <details><summary>What explains the widths as well</summary>
        <ul class="plain">{rivals.map((r, i) => <li key={i}>{r.text} {r.corrects && <button type="button" class="word" onClick={() => keep(i + 1, r.text)}>Keep this instead</button>}</li>)}</ul></details>}
    </li>
  );
}

/** All that test cuts and finished pieces told, each to be withdrawn and taken back. */
export function KeptHere({ again }: { again: number }) {
  const [all, setAll] = useState<Kept[]>([]);
  useEffect(() => { inspection.kept().then((l) => setAll(l.calibrations), () => setAll([])); }, [again]);
  if (!all.length) return null;
  const turn = async (k: Kept) => {
    try {
      setAll((await inspection.withdraw(k, !k.withdrawn)).calibrations);
      told.value = k.withdrawn ? "It counts again." : "It counts no more; the one before it does.";
    } catch (e) { told.value = (e as Error).message; }
  };
  return (
    <details class="kept">
      <summary>What the workshop knows of its cutters and engines</summary>
      <ul class="plain">{[...all].reverse().map((k) => (
        <li key={`${k.file}:${k.number}`}>
          <strong>{k.date}</strong>, {k.engine ? `engine ${k.engine}` : `cutter ${k.cutter}${k.guide ? ` with the guide ${k.guide}` : ""}`}: {tells(k)}.{" "}
          <span class="quiet">{k.withdrawn ? `Withdrawn ${k.withdrawn}.` : k.counts ? "This one counts." : "A later one counts."}</span>{" "}
          <button type="button" class="word" onClick={() => void turn(k)}>{k.withdrawn ? "Let it count again" : "Withdraw"}</button>
        </li>
      ))}</ul>
    </details>
  );
}

const names: Record<string, string> = { angle: "angle", flat: "flat", zero: "zero of the extension", compliance: "give", wear: "wear", slide: "screw", index: "index wheel" };
const units: Record<string, string> = { deg: "°", um: " µm", "um/N": " µm/N", "um/m": " µm/m" };

function tells(k: Kept): string {
  const values = (k.values ?? []).map((v) => `${names[v.name] ?? v.name} ${Number(v.value.toFixed(3))}${units[v.unit] ?? v.unit}`);
  const periods = (k.periodic ?? []).map((p) => `${names[p.name] ?? p.name} off by ${Number(p.size.toPrecision(3))}${units[p.unit] ?? p.unit} ${p.turns === 1 ? "each turn" : `every ${p.turns} turns`}`);
  return [...values, ...periods].join(", ") || "nothing";
}
