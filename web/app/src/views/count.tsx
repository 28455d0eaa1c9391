// The count at the engine: the cut that is next, what to do before it, where it starts
// and stops, all to be read from two metres.
import { useEffect, useRef, useState } from "preact/hooks";
import "../count/awake";
import { habits, setHabit } from "../count/habits";
import { away, closed, keeping, program, shown, toldAt, trouble, waiting, waitingElsewhere } from "../count/keep";
import type { Program, Span } from "../count/runs";
import type { Shown } from "../count/shown";
import { asking, countDoubtful, dialsRight, doubtful, leaveOut, lookAtDials, stroke, takeBack } from "../count/stroke";
import { goesDark } from "../count/awake";
import { called, learnDevice } from "../count/device";
import { told } from "../store";
import { inShown } from "../units";
import { Asked } from "./asked";
import { Fitted } from "./fitted";
import { Hold, isTyping } from "./hold";
import { SoFar } from "./sofar";
import { Tools, learning, tool } from "./tools";
import { sharing } from "./share";

export function Count() {
  const s = shown.value, p = program.value;
  useEffect(learnDevice, []);
  useEffect(() => { document.title = s ? `Cut ${Math.min(s.next, s.total)} of ${s.total} · ${s.title}` : "Brightcut"; }, [s?.next, s?.title]);
  useKeys();
  if (!s || !p) return <main id="main" tabIndex={-1}><p class="waiting" role={closed.value ? "alert" : undefined}>{closed.value || "Opening the run …"}</p><p><a class="word" href="#/">To the shelf</a></p></main>;
  return (
    <div class="engine">
      <header class="engine-head">
        <a class="mark" href={`#/${encodeURIComponent(s.job)}/count`} aria-label="Brightcut: leave the count">Brightcut</a>
        <h1 class="title">{s.title}</h1>
        <Where />
      </header>
      <main id="main" tabIndex={-1} class="face-holder">
        <Face s={s} p={p} />
        <Asked s={s} p={p} />
      </main>
      <Progress s={s} />
      <Tools s={s} p={p} />
      <p class="unseen" role="status" aria-live="polite">{aloud(s, p)}</p>
    </div>
  );
}

function aloud(s: Shown, p: Program): string {
  if (s.next > s.total) return `All ${s.total} cuts are counted.`;
  return `Cut ${s.next} of ${s.total} is next. ${p.cuts[s.next - 1]?.action ?? ""}`;
}

/** Which device this is and whether the count is kept. */
function Where() {
  const n = waiting.value.length;
  const it = called.value || "this screen";
  const kept = n ? `${n} ${n === 1 ? "entry waits" : "entries wait"} on ${it}, until the workshop answers`
    : away.value ? "the workshop does not answer; counts are kept here" : "kept on the workshop’s disk";
  return (
    <p class="states where">
      <span class={n || away.value ? "kept-here" : "kept"}><span aria-hidden="true">{n || away.value ? "◌" : "●"}</span> {kept}</span>
      {waitingElsewhere.value > 0 && <span>{waitingElsewhere.value} of other runs wait too</span>}
      {called.value && <span>{called.value}</span>}
      <button type="button" class="word" onClick={() => { sharing.value = true; }}>more screens</button>
      <FullScreen />
    </p>
  );
}

function FullScreen() {
  const [full, setFull] = useState(!!document.fullscreenElement);
  useEffect(() => {
    const look = () => setFull(!!document.fullscreenElement);
    document.addEventListener("fullscreenchange", look);
    return () => document.removeEventListener("fullscreenchange", look);
  }, []);
  if (!document.fullscreenEnabled) return null;
  const turn = () => (full ? document.exitFullscreen() : document.documentElement.requestFullscreen()).catch(() => { told.value = "The browser does not allow the full screen here."; });
  return <button type="button" class="word" onClick={() => { void turn(); toCount(); }}>{full ? "leave the full screen" : "full screen"}</button>;
}

function Face({ s, p }: { s: Shown; p: Program }) {
  const cut = p.cuts[s.next - 1];
  const ended = s.state === "finished" || s.state === "abandoned";
  const taken = (e: MouseEvent) => {
    if ((e.target as Element).closest("button, a, input, .ended") || window.getSelection()?.toString()) return;
    stroke();
  };
  const button = useRef<HTMLButtonElement>(null);
  useEffect(() => { button.current?.focus({ preventScroll: true }); }, [s.id]);
  if (ended || !cut) {
    return (
      <section class="face ended" aria-label="Count">
        <Fitted class="action" most={0.22} text={ended ? `This run is ${s.state}. ${s.counted} of ${s.total} cuts are counted.` : `All ${s.total} cuts are counted. ${p.after_action ?? ""}`} />
        <div class="more">
          {s.skipped?.length ? <p>Skipped: {s.skipped.map((x) => `cut ${x.cut}${x.text ? ` (${x.text})` : ""}`).join(", ")}.</p> : null}
          {s.unwitnessed?.length ? <p>{s.unwitnessed.length} {s.unwitnessed.length === 1 ? "cut counts" : "cuts count"} as made because the dials told the place; nobody counted {s.unwitnessed.length === 1 ? "it" : "them"}.</p> : null}
          {ended ? <p>Notes and measured widths may still be added below.</p> : <p>Measure while the work is in the chuck; then finish the run below, by holding its button.</p>}
        </div>
      </section>
    );
  }
  return (
    <section class="face" aria-label="Count" onClick={taken}>
      <div class="number">
        <p class="of">{s.state === "paused" ? "Pause. Next is cut" : "Next is cut"}</p>
        <Fitted class="n" most={1.1} text={String(s.next)} />
        <p class="of">of {s.total}</p>
        <SoFar run={s.id} upto={s.next - 1} label={`The piece after ${s.next - 1} of ${s.total} cuts`} />
      </div>
      <div class="what">
        {cut.change && <p class="change"><strong>Before this cut: {inShown(cut.change)}</strong></p>}
        <Fitted class="action" most={0.42} text={inShown(cut.action)}>{sentences(inShown(cut.action))}</Fitted>
        <Readings p={p} n={s.next} />
        <p class="holds">{s.held?.text && s.held.text !== cut.hold_text ? `${cut.hold_text ?? ""} Changed by hand: ${s.held.text}` : cut.hold_text}</p>
        <p class="then">{p.dials?.length ? `${s.next === 1 ? "Set for it" : "Set for it, the dials read"}: ${p.dials.map((d, i) => `${d.name} ${(cut.dials?.[i] ?? "").split(" (")[0]}`).join(", ")}.` : ""}</p>
        <p class="coming">{coming(p, s.next)}</p>
        <button type="button" class={`counts${keeping.value ? " keeping" : ""}`} ref={button} onClick={(e) => { e.stopPropagation(); if (!byKey) stroke(); }}>
          {keeping.value ? "Being written to the disk …" : `Cut ${s.next} is made`}</button>
      </div>
    </section>
  );
}

/** Each sentence on a line of its own. */
const sentences = (text: string) => text.split(/(?<=\.)\s+(?=\p{Lu})/u).map((t, i) => <div key={i}>{t}</div>);

function Readings({ p, n }: { p: Program; n: number }) {
  const spans = p.cuts[n - 1]?.spans ?? [];
  if (!spans.length) return null;
  const most = 4;
  return (
    <p class={`readings of-${Math.min(spans.length, most)}`}>
      {spans.slice(0, most).map((x, i) => x.ring ? <span key={i} class="span">all the way round</span>
        : <span key={i} class="span"><span class="small">from</span> {x.start} <span class="small">to</span> {x.stop}{" "}<span class="small">{unit(p)}</span></span>)}
      {spans.length > most && <span class="small">and {spans.length - most} more, see the sheet</span>}
    </p>
  );
}

const unit = (p: Program) => ({ deg: "°", degrees: "°" } as Record<string, string>)[p.reading_unit] ?? p.reading_unit;

/** The next change of what the hands are used to. */
function coming(p: Program, next: number): string {
  for (let n = next + 1; n <= p.total; n++) {
    const c = p.cuts[n - 1]!;
    if (!c.change && c.hold === p.cuts[n - 2]!.hold) continue;
    const k = n - next;
    const when = k === 1 ? "Before the next cut" : `In ${k} cuts`;
    return `${when}: ${inShown((c.change ?? c.hold_text ?? "").trim())}`;
  }
  const k = p.total - next + 1;
  return k === 1 ? "This is the last cut." : k <= 20 ? `${k} cuts to the end.` : "";
}

function Progress({ s }: { s: Shown }) {
  const [, setNow] = useState(0);
  useEffect(() => {
    const t = window.setInterval(() => setNow((n) => n + 1), 10_000);
    return () => window.clearInterval(t);
  }, []);
  const done = s.next - 1;
  const since = s.state === "under way" ? (performance.now() - toldAt.value) / 1000 : 0;
  return (
    <section class="way-through" aria-label="Progress">
      <div class="line-through" role="progressbar" aria-label="Cuts counted" aria-valuemin={0} aria-valuemax={s.total} aria-valuenow={done} aria-valuetext={`${done} of ${s.total} cuts`}>
        <span style={{ width: `${100 * done / s.total}%` }} />
      </div>
      <p class="times">
        {s.elapsed_seconds !== undefined && <span>{time(s.elapsed_seconds + since)} since the start</span>}
        <span>{done < s.total ? left(s.left) : ""}</span>
        {goesDark.value && <span class="dark-warning">{goesDark.value}</span>}
      </p>
    </section>
  );
}

/** A time to the digits it deserves. */
function time(seconds: number): string {
  const m = Math.round(seconds / 60);
  if (m < 1) return "less than a minute";
  if (m < 60) return `${m} min`;
  return `${Math.floor(m / 60)} h ${m % 60} min`;
}

function left(l: Span | undefined): string {
  if (!l?.seconds) return "the time to the end is told after a few cuts";
  const range = l.low !== undefined && l.high !== undefined && time(l.low) !== time(l.high) ? ` (${time(l.low)} to ${time(l.high)})` : "";
  return l.seconds < 30 ? "less than a minute to the end" : `about ${time(l.seconds)} to the end${range}`;
}

/** Puts the focus where the pedal counts. */
export function toCount(): void {
  document.querySelector<HTMLElement>(".counts")?.focus({ preventScroll: true });
}

// A button that has the focus is clicked by the key that has just been counted.
let byKey = false;

function useKeys(): void {
  useEffect(() => {
    const down = (e: KeyboardEvent) => {
      if (e.ctrlKey || e.metaKey || e.altKey || isTyping(e) || sharing.value) return;
      const eat = () => { e.preventDefault(); byKey = true; };
      if (learning.value) { // "press the pedal now"
        if (e.key === "Escape" || e.key === "Tab" || e.key === "Shift") { learning.value = false; return; }
        eat();
        setHabit({ key: e.key });
        learning.value = false;
        told.value = `This key counts from now on: ${keyName(e.key)}.`;
        toCount();
        return;
      }
      const target = e.target as Element;
      const onOther = !!target.closest?.("button:not(.counts), a, summary, input, [role=button]");
      const usual = e.key === " " || e.key === "Enter";
      if (e.key === "PageDown" || habits.value.key !== "" && e.key === habits.value.key || usual && !onOther) {
        eat();
        if (!e.repeat) stroke(e.timeStamp);
        return;
      }
      const key = e.key.toLowerCase();
      if (doubtful.value) {
        if (key === "y") { eat(); void countDoubtful(); }
        else if (key === "n" || e.key === "Escape") { eat(); leaveOut(); }
      } else if (lookAtDials.value && asking.value === "question") {
        if (key === "y") { eat(); void dialsRight(false); }
        else if (key === "n") { eat(); asking.value = "dials"; }
      } else if (e.key === "Escape") {
        if (trouble.value) trouble.value = null;
        tool.value = "";
        toCount();
      }
    };
    const up = (e: KeyboardEvent) => {
      if (byKey && e.key === " " && !isTyping(e)) e.preventDefault();
      window.setTimeout(() => { byKey = false; }, 0);
    };
    window.addEventListener("keydown", down);
    window.addEventListener("keyup", up);
    return () => {
      window.removeEventListener("keydown", down);
      window.removeEventListener("keyup", up);
    };
  }, []);
}

export const keyName = (key: string) => key === " " ? "Space" : key === "PageDown" ? "Page Down" : key;

export function TakeBack({ s }: { s: Shown }) {
  const last = s.last;
  return <Hold name={last ? `Take back cut ${last.cut}` : "Nothing to take back"} disabled={!last || s.state === "finished" || s.state === "abandoned"} keys={["Backspace", "PageUp"]}
    explain={last ? `To take back cut ${last.cut}, hold Backspace, Page Up or the button until the ring is full.` : "There is no count to take back."}
    onHeld={() => { void takeBack(); toCount(); }} />;
}
