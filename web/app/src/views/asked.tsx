// What the count asks before it goes on: two strokes for one, whether the dials
// agree, what two devices tell differently; and what went wrong, in large words.
import { useEffect, useRef, useState } from "preact/hooks";
import { Problem } from "../api";
import { called } from "../count/device";
import { act, trouble } from "../count/keep";
import { isAway, runs, type Axis, type Places, type Program, type Question } from "../count/runs";
import type { Shown } from "../count/shown";
import { asking, closeDials, countDoubtful, dialsRight, doubtful, heldStrokes, leaveOut, lookAtDials } from "../count/stroke";
import { whereHere } from "../count/where";
import { told } from "../store";
import { inShown } from "../units";
import { toCount } from "./count";

export function Asked({ s, p }: { s: Shown; p: Program }) {
  const t = trouble.value;
  return (
    <>
      {s.conflicts?.map((q) => <Conflict key={q.id} q={q} />)}
      {t && <div class="asked trouble" role="alert">
        <h2>{t.title}</h2>
        <p>{t.detail}</p>
        <p>The number stands as it was; the next stroke tries again. <button type="button" class="word strong" onClick={() => { trouble.value = null; toCount(); }}>Understood</button></p>
      </div>}
      {doubtful.value && <Doubtful more={doubtful.value.more} apart={doubtful.value.apart} />}
      {lookAtDials.value && <Dials s={s} p={p} />}
    </>
  );
}

const numbers = ["none", "One", "Two", "Three", "Four", "Five"];
const inNumbers = (n: number) => numbers[n] ?? String(n);

function Doubtful({ more, apart }: { more: number; apart: number }) {
  return (
    <div class="asked low" role="alert">
      <h2>{inNumbers(more + 1)} strokes in {apart.toFixed(1)} s. Count {more === 1 ? "the second" : "the others"} too?</h2>
      <p class="answers">
        <button type="button" class="answer" onClick={() => { leaveOut(); toCount(); }}>No, leave {more === 1 ? "it" : "them"} out <kbd>N</kbd></button>
        <button type="button" class="answer" onClick={() => { void countDoubtful(); toCount(); }}>Yes, count {more === 1 ? "it" : "them"} <kbd>Y</kbd></button>
      </p>
      <p class="quiet">One was counted. Going on with the next stroke means no.</p>
    </div>
  );
}

const holds: Record<string, string> = {
  done: "It is cut: count it", undone: "Take it back", skipped: "Skip it", placed: "The dials are right: go there", finished: "It is finished", abandoned: "It is abandoned",
};

function Conflict({ q }: { q: Question }) {
  const settle = (choice: "count" | "drop") => { void act(() => ({ kind: "settled", settles: q.id, choice })); toCount(); };
  const at = new Date(q.at);
  return (
    <div class="asked conflict" role="alert">
      <h2>Two stories of {q.cut ? `cut ${q.cut}` : "the run"}</h2>
      <p>{q.why}{q.following?.length ? ` ${q.following.length} more ${q.following.length === 1 ? "entry was" : "entries were"} made on top of it.` : ""} It comes from {q.device || "the workshop’s own screen"}{Number.isNaN(at.getTime()) ? "" : `, at ${at.toLocaleTimeString(undefined, { hour: "2-digit", minute: "2-digit", second: "2-digit" })}`}. Look at the work: which is so?</p>
      <p class="answers">
        <button type="button" class="answer" onClick={() => settle("count")}>{holds[q.kind] ?? "Let it hold"}</button>
        <button type="button" class="answer" onClick={() => settle("drop")}>Leave the count as it stands</button>
      </p>
    </div>
  );
}

const list = (parts: string[]) => parts.length < 2 ? parts.join("") : `${parts.slice(0, -1).join(", ")} and ${parts.at(-1)!}`;

/** What the dials show at a cut, "the cross slide −1250 teeth (−12.500 mm)". */
function dialsAt(p: Program, n: number): string {
  const cut = p.cuts[n - 1];
  return list((p.dials ?? []).map((d, i) => `the ${d.name} ${inShown((cut?.dials?.[i] ?? "").replace(/^\S+/, (n) => d.unit ? `${n} ${d.unit}` : n))}`));
}

function Dials({ s, p }: { s: Shown; p: Program }) {
  const box = useRef<HTMLDivElement>(null);
  useEffect(() => { box.current?.focus({ preventScroll: true }); }, []);
  const last = s.next - 1, made = dialsAt(p, last), set = s.next <= p.total ? dialsAt(p, s.next) : "";
  const held = heldStrokes.value;
  return (
    <div class="asked dials" role="dialog" aria-labelledby="dials-title" tabIndex={-1} ref={box}>
      {asking.value === "question" ? (
        <>
          <h2 id="dials-title">{made ? <>Before you go on: do the dials read as they should?</> : <>Before you go on: is cut {last} the last that is made?</>}</h2>
          {made && <p class="large">After cut {last}: <strong>{made}</strong>.{set && set !== made && <> With all set for cut {s.next}: <strong>{set}</strong>.</>}</p>}
          {held > 0 && <p class="large wrong-word" role="alert">{held === 1 ? "One stroke was made meanwhile and is not counted yet." : `${held} strokes were made meanwhile and are not counted yet.`}</p>}
          <p class="answers">
            <button type="button" class="answer" onClick={() => { void dialsRight(false); toCount(); }}>Yes{held ? ", and leave the stroke out" : ""} <kbd>Y</kbd></button>
            {held > 0 && <button type="button" class="answer" onClick={() => { void dialsRight(true); toCount(); }}>Yes, and count {held === 1 ? "that stroke" : `those ${held} strokes`}</button>}
            <button type="button" class="answer" onClick={() => { asking.value = "dials"; }}>No <kbd>N</kbd></button>
          </p>
          <p class="quiet">The pedal does not count until this is answered.</p>
        </>
      ) : <Read s={s} p={p} />}
    </div>
  );
}

/** The dials as they are read, and the places at which they can be so. */
function Read({ s, p }: { s: Shown; p: Program }) {
  const [read, setRead] = useState<Record<string, string>>({});
  const [places, setPlaces] = useState<Places | null>(null);
  const [wrong, setWrong] = useState("");
  const bars = [...new Set(p.cuts.map((c) => c.settings.bar).filter((b): b is string => !!b))];
  const dials = [...(p.dials ?? []), ...(bars.length > 1 ? [{ axis: "bar", name: "bar", unit: "" }] : [])];
  const look = async (e: Event) => {
    e.preventDefault();
    const given: Partial<Record<Axis, string>> = {};
    for (const [axis, text] of Object.entries(read)) {
      const plain = text.trim().replace(/\u2212/g, "-");
      if (plain === "") continue;
      if (axis !== "bar" && !/^[-+]?\d+$/.test(plain)) { setWrong(`“${text}” is no whole number of teeth or holes, as the dial counts them.`); return; }
      given[axis as Axis] = plain.replace(/^\+/, "");
    }
    if (!Object.keys(given).length) { setWrong("Read at least one dial; each more tells more."); return; }
    setWrong("");
    try {
      setPlaces(await runs.where(s.id, given as Record<string, string>));
    } catch (x) {
      if (isAway(x)) setPlaces(whereHere(p, given));
      else setWrong(x instanceof Problem ? x.message : String(x));
    }
  };
  const place = async (next: number) => {
    if (next === s.next) { told.value = `The count stays: cut ${next} is the next.`; }
    else if (!await act(() => ({ kind: "placed", cut: next, text: Object.entries(read).map(([a, v]) => `${a} ${v}`).join(", "), place: called.value || undefined }))) return;
    closeDials();
    toCount();
  };
  return (
    <>
      <h2 id="dials-title">What do the dials show?</h2>
      <form class="read" onSubmit={(e) => void look(e)}>
        {dials.map((d, i) => (
          <label key={d.axis}>{d.name}{" "}
            {d.axis === "bar" ? <select class="entry" value={read.bar ?? ""} onChange={(e) => { setRead({ ...read, bar: e.currentTarget.value }); setPlaces(null); }}><option value="">not looked at</option>{bars.map((b) => <option key={b} value={b}>{b}</option>)}</select>
              : <input class="entry" inputMode="text" autocomplete="off" autoFocus={i === 0} value={read[d.axis] ?? ""} onInput={(e) => { setRead({ ...read, [d.axis]: e.currentTarget.value }); setPlaces(null); }} />} {d.unit}</label>
        ))}
        <p class="quiet">Leave empty what you cannot read. A wheel shows the same again after a round, a bar after a whole wave: all places that fit are told.</p>
        {wrong && <p class="wrong-word" role="alert">{wrong}</p>}
        <p class="answers"><button type="submit" class="answer">Where can that be?</button>
          <button type="button" class="answer" onClick={() => { asking.value = "question"; }}>Back</button></p>
      </form>
      {places && <div role="region" aria-live="polite" aria-label="Where the dials can be">
        <p>{places.text}</p>
        <ul class="places">{places.candidates?.map((c, i) => (
          <li key={i} class={c.unlikely ? "unlikely" : undefined}><span>{c.text}</span>{" "}
            <button type="button" class="answer" onClick={() => void place(c.next)}>{c.next > p.total ? "All are made" : c.next === s.next ? `Go on: cut ${c.next} is next` : `Go to cut ${c.next}`}</button></li>
        ))}</ul>
      </div>}
    </>
  );
}
