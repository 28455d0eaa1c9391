// What this device has counted and the workshop has not yet taken, kept by the
// browser through reloads and power cuts; and the last that was heard of each run.
import type { BenchEvent, Run } from "./runs";

/** An event that waits, with its place in the line. */
export interface Waiting { place?: number; run: string; event: BenchEvent }

let opened: Promise<IDBDatabase> | null = null;

function base(): Promise<IDBDatabase> {
  opened ??= new Promise((done, fail) => {
    const ask = indexedDB.open("brightcut-count", 1);
    ask.onupgradeneeded = () => {
      ask.result.createObjectStore("waiting", { keyPath: "place", autoIncrement: true });
      ask.result.createObjectStore("runs", { keyPath: "id" });
    };
    ask.onsuccess = () => {
      ask.result.onclose = ask.result.onversionchange = () => { ask.result.close(); opened = null; };
      done(ask.result);
    };
    ask.onerror = () => { opened = null; fail(ask.error ?? new Error("the browser keeps nothing for this page")); };
    ask.onblocked = () => { opened = null; fail(new Error("another tab holds what the browser keeps for this page")); };
  });
  return opened;
}

async function carry<T>(store: "waiting" | "runs", mode: IDBTransactionMode, strict: boolean, work: (s: IDBObjectStore) => IDBRequest<T>): Promise<T> {
  const db = await base();
  return new Promise((done, fail) => {
    // Strict: complete means that it is on the disk, not that it soon will be.
    const t = db.transaction(store, mode, { durability: strict ? "strict" : "relaxed" });
    const asked = work(t.objectStore(store));
    t.oncomplete = () => done(asked.result);
    t.onerror = t.onabort = () => fail(t.error ?? new Error("the browser did not keep it"));
  });
}

/** Puts an event at the end of the line; strict when nothing but this device will have it. */
export const put = async (w: Waiting, strict: boolean): Promise<number> =>
  Number(await carry("waiting", "readwrite", strict, (s) => s.put(w)));

/** All that waits, in the order in which it was made. */
export const all = (): Promise<Waiting[]> => carry("waiting", "readonly", false, (s) => s.getAll() as IDBRequest<Waiting[]>);

/** Takes out the events that the workshop has taken. */
export async function remove(places: number[]): Promise<void> {
  if (!places.length) return;
  await carry("waiting", "readwrite", false, (s) => {
    let last = s.delete(places[0]!);
    for (const p of places.slice(1)) last = s.delete(p);
    return last;
  });
}

export const keepRun = async (run: Run): Promise<void> => { await carry("runs", "readwrite", false, (s) => s.put(run)); };
export const readRun = (id: string): Promise<Run | undefined> => carry("runs", "readonly", false, (s) => s.get(id) as IDBRequest<Run | undefined>);

/** Lets one tab of this browser at a time at the line, where the browser can. */
export const alone = <T>(work: () => Promise<T>): Promise<T> =>
  "locks" in navigator ? navigator.locks.request("brightcut-count", work) as Promise<T> : work();
