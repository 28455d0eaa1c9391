// What the page knows, and how it changes. Every change of a job goes through one
// line of orders, so that each meets the file as the one before left it.
import { batch, computed, signal } from "@preact/signals";
import { api, client, Problem, Unreachable, type EditRequest, type Fault, type InPart, type Job, type Workshop } from "./api";
import { readCuts, type Cuts } from "./cuts";

export const workshop = signal<Workshop | null>(null);
export const job = signal<Job | null>(null);
export const cuts = signal<Cuts | null>(null);
/** What a reader of the screen is told, and everyone sees at the foot of the page. */
export const told = signal("");
let toldUntil = 0;
told.subscribe((t) => {
  window.clearTimeout(toldUntil);
  // Long enough to be read twice over.
  if (t) toldUntil = window.setTimeout(() => { told.value = ""; }, 5000 + 90 * t.length);
});
export const saving = signal<"saved" | "saving" | "waiting">("saved");
/** The file was changed by another hand while a change of ours was on its way. */
export const conflict = signal<{ id: string; theirs: string; revision: string; mine: Order } | null>(null);
/** A value stands in a part's own file: whose, and the change that waits for the answer. */
export const shared = signal<{ part: InPart; field: string; value: string } | null>(null);
/** Faults that the last change met and that are not in the file. */
export const refusal = signal<{ field: string; faults: Fault[] } | null>(null);
/** The units that lengths are shown in; the file keeps its own. */
export const shownUnits = signal<"mm" | "inch">((localStorage.getItem("units") as "mm" | "inch" | null) ?? "mm");
export const pointed = signal(0); // the cut pointed at, from 1; 0 is none
export const upto = signal(Infinity); // the piece after so many cuts
/** Counts how often the stream of events was taken up again. */
export const link = signal(0);
/** A run that was added to, here or elsewhere. */
export const runHeard = signal<{ id: string; seq: number; by?: string } | null>(null);

export const faults = computed<Fault[]>(() => job.value?.faults ?? []);

/** The job's faults at a path and at all below it that no value shows for itself. */
export function faultsAt(field: string | undefined): Fault[] {
  if (!field) return [];
  const at = (f: Fault) => f.path ?? f.field ?? "";
  const own = refusal.value?.field === field ? refusal.value.faults : [];
  return [...own, ...faults.value.filter((f) => at(f) === field)];
}

// The session's texts, so that undo reaches back through a reload of the page.
interface Past { back: string[]; on: string[]; merge: string }
const past = signal<Past>({ back: [], on: [], merge: "" });
export const canUndo = computed(() => past.value.back.length > 0);
export const canRedo = computed(() => past.value.on.length > 0);
const pastMost = 300;

function keepPast(id: string): void {
  try {
    sessionStorage.setItem(`past:${id}`, JSON.stringify(past.value));
  } catch { // the browser's room is full: keep the nearer half
    past.value = { ...past.value, back: past.value.back.slice(-past.value.back.length / 2 | 0) };
  }
}

function readPast(id: string): Past {
  try {
    return JSON.parse(sessionStorage.getItem(`past:${id}`) ?? "") as Past;
  } catch {
    return { back: [], on: [], merge: "" };
  }
}

/** A change on its way to the file. */
export type Order = { id: string; merge?: string } & (
  | { do: "set"; field: string; value: string; scope?: "part" | "copy"; part_name?: string }
  | { do: "edit"; edit: Omit<EditRequest, "if_revision"> }
  | { do: "put"; text: string; way: "undo" | "redo" | "mine" }
  | { do: "ask"; send: (revision: string) => Promise<Job> });

const waiting: Order[] = [];
let working: Promise<void> | null = null;

/** Puts a change in line. A newer value of the same field takes the place of one that still waits. */
export function order(o: Order): Promise<void> {
  const last = waiting.length > 1 ? waiting[waiting.length - 1] : undefined; // the first is on its way
  if (o.do === "set" && last?.do === "set" && last.field === o.field && last.id === o.id) waiting.pop();
  waiting.push(o);
  keepWaiting();
  saving.value = "saving";
  working ??= work().finally(() => { working = null; });
  return working;
}

// What the server has not yet taken is kept by the browser.
const keepWaiting = () => {
  const rest = waiting.filter((o) => o.do !== "ask");
  if (rest.length) localStorage.setItem("waiting", JSON.stringify(rest));
  else localStorage.removeItem("waiting");
};

async function work(): Promise<void> {
  // The order being carried out stays at the head until it is answered.
  while (waiting.length) {
    const o = waiting[0]!;
    const now = job.value;
    if (!now || now.id !== o.id) { waiting.shift(); continue; }
    try {
      const before = now.text;
      const next = await carryOut(o, now.revision);
      waiting.shift();
      refusal.value = null;
      remember(o, before, next);
      take(next);
    } catch (e) {
      if (e instanceof Unreachable) {
        saving.value = "waiting";
        await new Promise((r) => setTimeout(r, 1500));
        continue;
      }
      waiting.shift();
      refused(o, e);
    }
    keepWaiting();
  }
  saving.value = "saved";
  // What another hand changed while the page's own changes were on their way.
  const id = missed;
  missed = "";
  if (id && job.value?.id === id) await readAgain(id, "another hand").catch(() => {});
}

let missed = "";

function carryOut(o: Order, revision: string): Promise<Job> {
  switch (o.do) {
    case "set": return api.set(o.id, { field: o.field, value: o.value, if_revision: revision, scope: o.scope, part_name: o.part_name });
    case "edit": return api.edit(o.id, { ...o.edit, if_revision: revision });
    case "put": return api.put(o.id, o.text, revision);
    case "ask": return o.send(revision);
  }
}

function remember(o: Order, before: string, next: Job): void {
  if (before === next.text) return;
  const p = past.value;
  if (o.do === "put" && o.way === "undo") {
    past.value = { back: p.back.slice(0, -1), on: [...p.on, before], merge: "" };
  } else if (o.do === "put" && o.way === "redo") {
    past.value = { back: [...p.back, before], on: p.on.slice(0, -1), merge: "" };
  } else if (o.merge && o.merge === p.merge) {
    past.value = { ...p, on: [] }; // one turn of a stepper is one step back
  } else {
    past.value = { back: [...p.back, before].slice(-pastMost), on: [], merge: o.merge ?? "" };
  }
  keepPast(next.id);
}

function refused(o: Order, e: unknown): void {
  if (e instanceof Problem && e.is("conflict")) {
    waiting.length = 0;
    conflict.value = { id: o.id, theirs: e.body.text ?? "", revision: e.body.revision ?? "", mine: o };
  } else if (e instanceof Problem && e.is("in-part") && e.body.part && o.do === "set") {
    const p = e.body.part, own = (p.used_by ?? []).every((u) => u === o.id);
    if (own || answered.has(`${p.kind}/${p.id}`)) waiting.unshift({ ...o, scope: "part" });
    else shared.value = { part: p, field: o.field, value: o.value };
  } else if (e instanceof Problem && (o.do === "set" || o.do === "edit")) {
    const field = o.do === "set" ? o.field : o.edit.path;
    refusal.value = { field, faults: e.body.faults?.length ? e.body.faults : [{ problem: e.message }] };
    told.value = `Not done: ${e.message}`;
  } else {
    told.value = e instanceof Error ? e.message : String(e);
  }
}

/** Makes an answer of the server what the page shows. What a faulty job cannot tell stays as it was. */
function take(next: Job, early?: Promise<ArrayBuffer | null>): void {
  const was = job.value?.id === next.id ? job.value : null;
  const shown: Job = next.faults?.length && was && !next.sentences
    ? { ...was, text: next.text, revision: next.revision, faults: next.faults, stale: true, values: next.values } : next;
  batch(() => {
    job.value = shown;
    if (next.digest && next.digest !== was?.digest) void fetchCuts(next, early);
  });
}

let fetching = "";
let cutsOf = "";

async function fetchCuts(j: Job, early?: Promise<ArrayBuffer | null>): Promise<void> {
  fetching = j.digest!;
  try {
    const data = (await early) ?? await api.cuts(j.id, j.digest);
    if (fetching !== j.digest) return; // a newer change is on its way
    const list = readCuts(data, j.digest!);
    batch(() => {
      cutsOf = j.id;
      cuts.value = list;
      if (upto.value !== Infinity && upto.value >= list.count) upto.value = Infinity;
    });
  } catch (e) {
    if (!(e instanceof Problem && e.is("faults"))) told.value = e instanceof Error ? e.message : String(e);
  }
}

let opening = 0;

/** Opens a job, or null for the shelf. */
export async function open(id: string | null): Promise<void> {
  const mine = ++opening;
  if (id === null) {
    batch(() => { job.value = null; cuts.value = null; pointed.value = 0; upto.value = Infinity; });
    await refreshWorkshop();
    return;
  }
  if (job.value?.id === id) return;
  const early = api.cuts(id).catch(() => null); // the cuts come beside the job, not behind it
  const next = await api.job(id);
  if (mine !== opening) return; // another was asked for meanwhile
  batch(() => {
    if (cutsOf !== id) cuts.value = null;
    job.value = null;
    conflict.value = refusal.value = shared.value = null;
    pointed.value = 0;
    upto.value = Infinity;
    past.value = readPast(id);
    if (!localStorage.getItem("units")) shownUnits.value = next.units;
    take(next, early);
  });
  if (!workshop.value) void refreshWorkshop().catch(() => {});
  try {
    const kept = (JSON.parse(localStorage.getItem("waiting") ?? "[]") as Order[]).filter((o) => o.id === id);
    localStorage.removeItem("waiting");
    for (const o of kept) void order(o);
  } catch { /* not ours */ }
}

export async function refreshWorkshop(): Promise<void> {
  workshop.value = await api.workshop();
}

export const setField = (field: string, value: string, merge?: string) =>
  job.value ? order({ id: job.value.id, do: "set", field, value, merge }) : Promise.resolve();

export const edit = (e: Omit<EditRequest, "if_revision">) =>
  job.value ? order({ id: job.value.id, do: "edit", edit: e }) : Promise.resolve();

// Parts that may be changed for all their jobs, as was said once in this session.
const answered = new Set<string>();

/** Answers where a value of a part is to be changed. */
export function answerShared(scope: "part" | "copy", part_name?: string): void {
  const s = shared.value, j = job.value;
  shared.value = null;
  if (s && scope === "part") answered.add(`${s.part.kind}/${s.part.id}`);
  if (s && j) void order({ id: j.id, do: "set", field: s.field, value: s.value, scope, part_name });
}

export function undo(): void {
  const text = past.value.back.at(-1), j = job.value;
  if (text !== undefined && j && !waiting.length) {
    void order({ id: j.id, do: "put", text, way: "undo" }).then(() => { told.value = "Undone."; });
  }
}

export function redo(): void {
  const text = past.value.on.at(-1), j = job.value;
  if (text !== undefined && j && !waiting.length) {
    void order({ id: j.id, do: "put", text, way: "redo" }).then(() => { told.value = "Done again."; });
  }
}

/** Settles a conflict: the file as it is on disk, or the change made on top of it. */
export async function settle(mine: boolean): Promise<void> {
  const c = conflict.value;
  conflict.value = null;
  if (!c || job.value?.id !== c.id) return;
  await readAgain(c.id, "another hand");
  if (mine) await order(c.mine);
}

let readings = 0;

async function readAgain(id: string, by: string): Promise<void> {
  const mine = ++readings;
  const next = await api.job(id);
  if (mine !== readings) return; // a later reading is on its way, and this one may be older than the file
  const was = job.value;
  if (was?.id !== id || next.revision === was.revision && next.digest === was.digest) return;
  if (next.text !== was.text) {
    past.value = { back: [...past.value.back, was.text].slice(-pastMost), on: [], merge: "" };
    keepPast(id);
    told.value = `The file was changed by ${by} and read again.`;
  }
  take(next);
}

/** Listens for changes made elsewhere while the page is to be seen: a browser keeps six
 * connections to a server, and tabs left in the background would hold them all. */
export function listen(): void {
  let events = document.hidden ? null : hear(false);
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) {
      events?.close();
      events = null;
    } else events ??= hear(true);
  });
}

/** Hears the server; what it told before is missed where the page was away. */
function hear(away: boolean): EventSource {
  const events = new EventSource("/api/events");
  const data = (e: Event) => JSON.parse((e as MessageEvent<string>).data) as { id: string; by?: string; revision?: string };
  let lost = away;
  events.onerror = () => { lost = true; };
  events.addEventListener("hello", () => {
    if (!lost) return;
    lost = false;
    link.value++;
    if (job.value && waiting.length) missed = job.value.id;
    else if (job.value) void readAgain(job.value.id, "another hand").catch(() => {});
    void refreshWorkshop().catch(() => {});
  });
  events.addEventListener("job", (e) => {
    const d = data(e);
    if (d.by === client) return;
    if (job.value?.id === d.id) {
      if (waiting.length) missed = d.id; // a change of the page's own is on its way
      else if (d.revision !== job.value.revision) {
        void readAgain(d.id, d.by ? "another page" : "another program").catch((x: Error) => { told.value = x.message; });
      }
    } else if (!job.value) void refreshWorkshop().catch(() => {});
  });
  events.addEventListener("gone", (e) => {
    const d = data(e);
    if (d.by === client) return;
    if (job.value?.id === d.id) told.value = "The job's file is no longer in the workshop: another hand took it away. Look in the trash of the shelf.";
    else if (!job.value) void refreshWorkshop().catch(() => {});
  });
  events.addEventListener("run", (e) => { runHeard.value = JSON.parse((e as MessageEvent<string>).data); });
  events.addEventListener("part", (e) => {
    if (data(e).by !== client && job.value) void readAgain(job.value.id, "another program").catch(() => {});
  });
  return events;
}

export function showUnits(u: "mm" | "inch"): void {
  shownUnits.value = u;
  localStorage.setItem("units", u);
}
