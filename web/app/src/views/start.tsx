// Before the count: the runs of a job, and the start of a new one.
import { useEffect, useState } from "preact/hooks";
import { Problem } from "../api";
import { called } from "../count/device";
import { newID, runs, type RunLine } from "../count/runs";
import { all as waitingHere } from "../count/outbox";
import { job, link, runHeard, told } from "../store";
import { inShown } from "../units";
import { go } from "../way";

/** The runs of the workshop; null until they are known. */
export function useRuns(): { lines: RunLine[] | null; wrong: string } {
  const [lines, setLines] = useState<RunLine[] | null>(null);
  const [wrong, setWrong] = useState("");
  useEffect(() => {
    let gone = false;
    runs.list().then((l) => { if (!gone) { setLines(l); setWrong(""); } }, (e: Error) => { if (!gone) setWrong(e.message); });
    return () => { gone = true; };
  }, [runHeard.value, link.value]);
  return { lines, wrong };
}

export const toRun = (r: { id: string; job: string }) => `#/${encodeURIComponent(r.job)}/count/${encodeURIComponent(r.id)}`;

export function RunLineView({ r, titled }: { r: RunLine; titled?: boolean }) {
  const open = r.state === "under way" || r.state === "paused";
  const when = new Date(r.last ?? r.started);
  return (
    <li class="run-line">
      <a class={open ? "word strong" : "word"} href={toRun(r)}>{titled ? r.title || r.job : `Run of ${new Date(r.started).toLocaleDateString(undefined, { day: "numeric", month: "long", year: "numeric" })}`}</a>{" "}
      <span>{open ? r.next > r.total ? `all ${r.total} cuts counted, not finished yet` : `${r.state === "paused" ? "paused, " : ""}cut ${r.next} of ${r.total} is next` : `${r.state}, ${Math.min(r.next - 1, r.total)} of ${r.total} cuts`}</span>{" "}
      <span class="quiet">last {when.toLocaleString(undefined, { day: "numeric", month: "long", hour: "2-digit", minute: "2-digit" })}{r.device ? `, begun on ${r.device}` : ""}</span>
      {r.conflicts ? <strong class="wrong-word"> {r.conflicts === 1 ? "one question" : `${r.conflicts} questions`} to settle</strong> : null}
      {r.torn ? <strong class="wrong-word"> {r.torn}</strong> : null}
    </li>
  );
}

export function Start() {
  const j = job.value!;
  const { lines, wrong } = useRuns();
  const [starting, setStarting] = useState(false);
  const mine = lines?.filter((r) => r.job === j.id) ?? [];
  const open = mine.filter((r) => r.state === "under way" || r.state === "paused");
  const begin = async () => {
    setStarting(true);
    try {
      const r = await runs.start(newID(), j.id, called.value || undefined);
      go(toRun(r));
    } catch (e) {
      told.value = e instanceof Problem && e.body.faults?.length ? `The job cannot be cut as it stands: ${e.body.faults[0]!.problem}` : e instanceof Error ? e.message : String(e);
    } finally {
      setStarting(false);
    }
  };
  return (
    <section class="start" aria-label="Count">
      <h2>At the engine</h2>
      {open.length > 0 && <><p>This job is under way:</p><ul class="plain run-lines">{open.map((r) => <RunLineView key={r.id} r={r} />)}</ul></>}
      <p class="lead">A run counts the {j.cuts?.count ?? ""} cuts of the job as it stands now. Each is on the workshop’s disk before it is on the screen; changes of the job afterwards do not reach it.</p>
      <p><button type="button" class="answer" disabled={starting || j.stale || !!j.faults?.length} onClick={() => void begin()}>{starting ? "Starting …" : open.length ? "Start another run" : "Start a run"}</button>
        {(j.stale || !!j.faults?.length) && <span class="wrong-word"> The job has faults: mend them first.</span>}</p>
      <div class="cautions">{j.sentences?.filter((x) => x.section === "cautions").map((x, i) => <p key={i}>{inShown(x.parts.map((part) => part.text ?? part.value ?? "").join(""))}</p>)}</div>
      {mine.length > open.length && <><h3>Earlier runs</h3><ul class="plain run-lines">{mine.filter((r) => !open.includes(r)).map((r) => <RunLineView key={r.id} r={r} />)}</ul></>}
      {wrong && <p class="wrong-word" role="alert">{wrong}</p>}
    </section>
  );
}

/** Of the shelf: what is under way, also where only this device remembers it. */
export function UnderWay() {
  const { lines, wrong } = useRuns();
  const [here, setHere] = useState(0);
  useEffect(() => { waitingHere().then((w) => setHere(w.length), () => {}); }, [runHeard.value, link.value]);
  const open = lines?.filter((r) => r.state === "under way" || r.state === "paused") ?? [];
  if (!open.length && !here) return null;
  return (
    <section class="under-way" aria-label="At the engine">
      <h2>At the engine</h2>
      <ul class="plain run-lines">{open.map((r) => <RunLineView key={r.id} r={r} titled />)}</ul>
      {here > 0 && <p>{here} {here === 1 ? "entry waits" : "entries wait"} on this device for the workshop{wrong ? ", which does not answer" : ""}; open the run to send {here === 1 ? "it" : "them"}.</p>}
    </section>
  );
}

