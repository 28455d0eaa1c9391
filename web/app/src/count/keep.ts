// The run that is at the engine, and how it is added to. The number on the screen
// changes when the workshop's disk has the count, or, while the workshop cannot be
// reached, when this device's has it. Acts go one after the other.
import { batch, computed, signal } from "@preact/signals";
import { Problem } from "../api";
import { link, runHeard, told } from "../store";
import { called } from "./device";
import * as outbox from "./outbox";
import { isAway, newID, runs, type Answer, type BenchEvent, type Outcome, type Program, type Run } from "./runs";
import { withWaiting, type Shown } from "./shown";

export const program = signal<Program | null>(null);
/** The open run as the workshop last told it. */
const run = signal<Run | null>(null);
/** When it was told, by performance.now. */
export const toldAt = signal(0);
/** What waits here of the open run. */
export const waiting = signal<BenchEvent[]>([]);
/** Events of other runs that wait here. */
export const waitingElsewhere = signal(0);
export const shown = computed<Shown | null>(() => run.value && withWaiting(run.value, waiting.value));
export const keeping = signal(false); // an act takes longer than one notices
export const away = signal(false); // the workshop does not answer
/** Why the last act was not kept; nothing was counted. */
export const trouble = signal<{ title: string; detail: string } | null>(null);
/** Why the run cannot be shown at all. */
export const closed = signal("");
/** True once after the page opened a run that had been begun. */
export const openedAfresh = signal(false);

const noticed = 150; // ms
const most = 200; // events in one request

let acts = 0; // so that an answer asked for before an act is not taken after it
let opening = 0;

/** Opens a run; null closes it. */
export async function openRun(id: string | null): Promise<void> {
  const mine = ++opening;
  batch(() => { run.value = null; program.value = null; waiting.value = []; trouble.value = null; closed.value = ""; openedAfresh.value = false; });
  if (id === null) return;
  void navigator.storage?.persist?.().catch(() => {});
  const kept = await outbox.readRun(id).catch(() => undefined);
  const lines = await outbox.all().catch(() => []);
  const [now, cuts] = await Promise.allSettled([runs.get(id), runs.program(id)]);
  if (mine !== opening) return;
  const r = now.status === "fulfilled" ? now.value : isAway(now.reason) ? kept : undefined;
  if (!r || cuts.status === "rejected") {
    const why: unknown = !r && now.status === "rejected" ? now.reason : cuts.status === "rejected" ? cuts.reason : null;
    closed.value = why instanceof Problem ? why.message : "The workshop does not answer, and this device has not kept the run. Go back to where the network reaches, then load the page anew.";
    return;
  }
  batch(() => {
    away.value = now.status === "rejected";
    if (cuts.status === "fulfilled") program.value = cuts.value;
    waiting.value = lines.filter((w) => w.run === id).map((w) => w.event);
    take(r);
    openedAfresh.value = r.next > 1 || waiting.value.length > 0;
  });
  void flush();
}

function take(r: Run): void {
  run.value = r;
  toldAt.value = performance.now();
  void outbox.keepRun(r).catch(() => {});
}

let line: Promise<unknown> = Promise.resolve();

/** Adds what make says to the run, once all before it is kept. False when it was not kept or there was nothing to add. */
export function act(make: (s: Shown) => Partial<BenchEvent> & Pick<BenchEvent, "kind"> | null): Promise<boolean> {
  const at = new Date().toISOString();
  const mine = opening;
  const done = line.then(() => outbox.alone(async () => {
    if (!run.value || mine !== opening) return false;
    await readWaiting();
    const event = make(shown.value!);
    return event ? keep(run.value, { id: newID(), at, seen: run.value.seq, ...event }) : false;
  }));
  line = done.catch(() => {});
  return done;
}

async function keep(r: Run, event: BenchEvent): Promise<boolean> {
  acts++;
  const slow = window.setTimeout(() => { keeping.value = true; }, noticed);
  const own: outbox.Waiting = { run: r.id, event };
  try {
    try {
      own.place = await outbox.put({ ...own }, away.value);
    } catch (e) {
      if (away.value) return refuse("Not counted", `The workshop does not answer, and this browser does not keep it either: ${words(e)}.`);
    }
    if (away.value) return accept(own);
    try {
      const before = waiting.value;
      const answer = await sendAll(r.id, [...before, event]);
      const outcome = answer.outcomes.find((o) => o.id === event.id);
      batch(() => { waiting.value = []; trouble.value = null; take(answer.run); });
      await forget([...before, event]);
      sayOthers();
      if (outcome?.outcome === "refused") return refuse("Not kept", outcome.why ?? "");
      if (outcome?.outcome === "conflict") told.value = outcome.why ?? "";
      return true;
    } catch (e) {
      if (isAway(e)) {
        if (own.place === undefined) return refuse("Not counted", "The workshop does not answer, and this browser keeps nothing of its own.");
        try {
          await outbox.put(own, true); // once more, to the disk
        } catch (x) {
          return refuse("Not counted", `The workshop does not answer, and this browser does not keep it either: ${words(x)}.`);
        }
        away.value = true;
        return accept(own);
      }
      if (own.place !== undefined) await outbox.remove([own.place]).catch(() => {});
      if (e instanceof Problem && e.is("not-kept")) return refuse("Not counted: the disk did not take it", e.message.replace(/^nothing was counted: /i, "").replace(/^./, (c) => c.toUpperCase()));
      return refuse("Not counted", words(e));
    }
  } finally {
    window.clearTimeout(slow);
    keeping.value = false;
  }
}

function accept(own: outbox.Waiting): boolean {
  batch(() => { waiting.value = [...waiting.value, own.event]; trouble.value = null; });
  sayOthers();
  later();
  return true;
}

function refuse(title: string, detail: string): boolean {
  trouble.value = { title, detail };
  return false;
}

const words = (e: unknown) => (e instanceof Error ? e.message : String(e)).replace(/\.$/, "");

async function readWaiting(): Promise<void> {
  const id = run.value?.id;
  const lines = await outbox.all().catch(() => null); // a browser that keeps nothing
  if (!lines || run.value?.id !== id) return;
  const mine = lines.filter((w) => w.run === id).map((w) => w.event);
  batch(() => {
    waitingElsewhere.value = lines.length - mine.length;
    if (mine.length !== waiting.value.length || mine.some((e, i) => e.id !== waiting.value[i]!.id)) waiting.value = mine;
  });
}

async function sendAll(id: string, events: BenchEvent[]): Promise<{ run: Run; outcomes: Outcome[] }> {
  let answer: Answer | undefined;
  const outcomes = [];
  for (let i = 0; i < events.length; i += most) {
    answer = await runs.keep(id, events.slice(i, i + most), called.value || undefined);
    outcomes.push(...answer.outcomes);
  }
  // The events are on the disk, also where the run cannot be told just now.
  return { run: answer!.run ?? await runs.get(id), outcomes };
}

/** Takes events out of the line: the workshop has them. One that is sent again is known by its id. */
async function forget(events: BenchEvent[]): Promise<void> {
  const sent = new Set(events.map((e) => e.id));
  try {
    const lines = await outbox.all();
    await outbox.remove(lines.filter((w) => sent.has(w.event.id)).map((w) => w.place!));
  } catch { /* nothing is kept here */ }
}

let flushing: Promise<void> | null = null;

/** Sends what waits here, of every run, and hears how the open one stands. Acts do not wait for it: a network that hangs must not hold up a stroke. */
export function flush(): Promise<void> {
  flushing ??= sendWaiting().finally(() => { flushing = null; later(); });
  return flushing;
}

async function sendWaiting(): Promise<void> {
  const lines = await outbox.all().catch(() => []);
  for (const id of new Set(lines.map((w) => w.run))) {
    const events = lines.filter((w) => w.run === id).map((w) => w.event);
    try {
      const answer = await sendAll(id, events);
      away.value = false;
      // No act may come between: it would be made on the run without what waited.
      const settled = line.then(() => outbox.alone(async () => {
        if (run.value?.id === id) {
          const sent = new Set(events.map((e) => e.id));
          batch(() => {
            waiting.value = waiting.value.filter((e) => !sent.has(e.id));
            if (answer.run.seq >= run.value!.seq) take(answer.run);
            trouble.value = null;
          });
        }
        await forget(events);
      }));
      line = settled.catch(() => {});
      await settled;
      const odd = answer.outcomes.find((o) => o.outcome === "conflict" || o.outcome === "refused");
      const n = events.length;
      told.value = odd ? `The workshop answers again. ${odd.why ?? ""}` : `The workshop answers again and has taken what waited here: ${n} ${n === 1 ? "entry" : "entries"}.`;
      sayOthers();
    } catch (e) {
      if (isAway(e)) { away.value = true; return; }
      away.value = false;
      if (run.value?.id === id) trouble.value = { title: "The workshop does not take what waits here", detail: `${words(e)}. It is kept on this device meanwhile.` };
    }
  }
  await readWaiting();
  if (!waiting.value.length) await hear();
}

/** Reads the open run afresh. */
async function hear(): Promise<void> {
  const id = run.value?.id, before = acts;
  if (!id) return;
  try {
    const r = await runs.get(id);
    away.value = false;
    if (run.value?.id === id && acts === before) take(r);
  } catch (e) {
    if (isAway(e)) away.value = true;
    else told.value = words(e);
  }
}

let timer = 0;
const again = 2500; // ms between two tries

function later(): void {
  window.clearTimeout(timer);
  if (away.value || waiting.value.length || waitingElsewhere.value) timer = window.setTimeout(() => void flush(), again);
}

// Tabs of one browser share the line: each looks again when another has changed it.
const others = "BroadcastChannel" in window ? new BroadcastChannel("brightcut-count") : null;
const sayOthers = () => others?.postMessage(run.value?.id ?? "");
others?.addEventListener("message", () => void readWaiting().then(() => { if (!away.value) void hear(); }));

window.addEventListener("online", () => void flush());
document.addEventListener("visibilitychange", () => { if (!document.hidden && run.value) void flush(); });
link.subscribe((n) => { if (n && run.value) void flush(); });
runHeard.subscribe((e) => { if (e && e.id === run.value?.id && e.seq !== run.value.seq) void hear(); });
