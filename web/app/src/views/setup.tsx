// The set-up: the job as sentences whose values are changed where they stand.
import type { Fault, Part } from "../api";
import { answerShared, conflict, faults, job, order, settle, shared } from "../store";
import { inShown } from "../units";
import { MakePart, NewPlaces } from "./parts";
import { Steps } from "./steps";
import { Faults, Words } from "./value";
import { useEffect, useRef, useState } from "preact/hooks";

export function SetUp() {
  const j = job.value;
  if (!j) return null;
  const of = (section: string) => (j.sentences ?? []).filter((s) => s.section === section);
  const shown = new Set<string>();
  const see = (parts: Part[]) => { for (const p of parts) if (p.field) shown.add(p.field); };
  j.sentences?.forEach((s) => see(s.parts));
  const walk = (steps: typeof j.steps) => steps?.forEach((s) => {
    shown.add(s.path);
    see(s.parts);
    walk(s.do);
    s.choices?.forEach(walk);
  });
  walk(j.steps);
  // What no value on the page shows for itself is told at the top.
  const homeless = faults.value.filter((f) => !shown.has(f.path ?? f.field ?? ""));
  return (
    <section class="setup" aria-labelledby="setup-title">
      <h2 id="setup-title">Set-up</h2>
      {conflict.value && <Conflict />}
      {shared.value && <Shared />}
      {homeless.length > 0 && <Homeless faults={homeless} />}
      {j.stale && <p class="aside">Until this is mended, the piece and the counts are those of the last set-up that could be cut.</p>}
      {of("totals").map((s, i) => <p class="totals" key={i}><Words parts={s.parts} /></p>)}
      {of("warnings").length > 0 && (
        <div class="warnings" role="note" aria-label="Look at this before cutting">
          <h3>Look at this before cutting</h3>
          {of("warnings").map((s, i) => <p key={i}><Words parts={s.parts} /></p>)}
        </div>
      )}
      <h3>The bench made ready</h3>
      <div class="sentences">{of("setup").map((s, i) => <p key={i}><Words parts={s.parts} /></p>)}</div>
      <NewPlaces />
      <h3>The sequence</h3>
      <Steps steps={j.steps ?? []} list="sequence" />
      {of("closing").length > 0 && <div class="sentences closing">{of("closing").map((s, i) => <p key={i}><Words parts={s.parts} /></p>)}</div>}
      <Offers />
      <MakePart />
      {of("cautions").length > 0 && (
        <details class="cautions">
          <summary>Before you begin: cautions</summary>
          {of("cautions").map((s, i) => <p key={i}><Words parts={s.parts} /></p>)}
        </details>
      )}
      {of("notes").length > 0 && <><h3>Notes</h3><div class="sentences notes">{of("notes").map((s, i) => <p key={i}><Words parts={s.parts} /></p>)}</div></>}
      <FileText key={j.id} />
    </section>
  );
}

function Homeless({ faults: list }: { faults: Fault[] }) {
  return (
    <div class="homeless">
      {list.map((f, i) => (
        <div key={i}>
          <Faults faults={[f]} />
          {f.source_line && <pre class="source">{f.file ? `${f.file}:${f.line}` : `line ${f.line}`}  {f.source_line}</pre>}
        </div>
      ))}
    </div>
  );
}

function Offers() {
  const open = (job.value?.closures ?? []).filter((c) => !c.closes && c.offers?.length);
  if (!open.length) return null;
  return <div class="sentences">{open.map((c, i) => <p key={i}>{inShown(c.text)} What would close: {c.offers!.map(inShown).join("; ")}.</p>)}</div>;
}

/** The whole file, for what no sentence says. */
function FileText() {
  const j = job.value!;
  const [text, setText] = useState<string | null>(null);
  return (
    <details class="file" onToggle={(e) => { if (!(e.currentTarget as HTMLDetailsElement).open) setText(null); }}>
      <summary>The job file itself</summary>
      <label>
        <span class="quiet">{j.id}.yaml; comments are kept</span>
        <textarea class="text" spellcheck={false} rows={18} value={text ?? j.text} onInput={(e) => setText(e.currentTarget.value)} />
      </label>
      <button type="button" class="word" disabled={text === null || text === j.text}
        onClick={() => { void saveText(text!); setText(null); }}>Save the file</button>
    </details>
  );
}

const saveText = (text: string) => order({ id: job.value!.id, do: "put", text, way: "mine" });

/** Takes the focus when it is first shown. */
function useFirst<T extends HTMLElement>() {
  const it = useRef<T>(null);
  useEffect(() => it.current?.focus(), []);
  return it;
}

function Shared() {
  const first = useFirst<HTMLButtonElement>();
  const s = shared.value!;
  const users = s.part.used_by?.filter((u) => u !== job.value?.id) ?? [];
  const [name, setName] = useState(`${s.part.id}-${job.value?.id ?? "own"}`.slice(0, 60));
  return (
    <div class="question" role="alertdialog" aria-labelledby="shared-title">
      <p id="shared-title">This value stands in the file of the {s.part.kind.replace(/s$/, "")} “{s.part.id}”{users.length ? `, which ${users.length === 1 ? "another job uses" : `${users.length} other jobs use`} too: ${users.slice(0, 4).join(", ")}${users.length > 4 ? " …" : ""}` : ""}.</p>
      <p>
        <button type="button" class="word strong" ref={first} onClick={() => answerShared("part")}>Change it there{users.length ? ", for all of them" : ""}</button>{" "}
        <span class="inline">or <button type="button" class="word" onClick={() => answerShared("copy", name)}>change a copy</button> named{" "}
          <input class="entry" aria-label="Name of the copy" value={name} size={Math.max(10, name.length)} onInput={(e) => setName(e.currentTarget.value)} /></span>{" "}
        <span class="inline">or <button type="button" class="word" onClick={() => { shared.value = null; }}>leave it as it is</button></span>
      </p>
    </div>
  );
}

/** Lines of a that b lacks, for showing what another hand changed. */
function changed(a: string, b: string): string[] {
  const have = new Map<string, number>();
  for (const l of b.split("\n")) have.set(l, (have.get(l) ?? 0) + 1);
  return a.split("\n").filter((l) => {
    const n = have.get(l) ?? 0;
    if (n > 0) have.set(l, n - 1);
    return n === 0 && l.trim() !== "";
  }).slice(0, 12);
}

function Conflict() {
  const first = useFirst<HTMLButtonElement>();
  const c = conflict.value!;
  const mine = job.value?.text ?? "";
  return (
    <div class="question" role="alertdialog" aria-labelledby="conflict-title">
      <p id="conflict-title">The file was changed by another hand while you were changing it. Your change waits.</p>
      <p class="quiet">On disk it now says</p>
      <pre class="source">{changed(c.theirs, mine).join("\n") || "(only lines taken out)"}</pre>
      <p>
        <button type="button" class="word strong" ref={first} onClick={() => void settle(true)}>Make my change there too</button>{" "}
        or <button type="button" class="word" onClick={() => void settle(false)}>leave the file as it is on disk</button>
      </p>
    </div>
  );
}
