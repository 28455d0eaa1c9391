// The server's API for runs at the engine and for sharing, as docs/api.md has it.
import { Problem, Unreachable, ask, read, send, type Part } from "../api";

export type Phase = "under way" | "paused" | "finished" | "abandoned";

export interface RunLine {
  id: string; job: string; title: string; device?: string; started: string; state: Phase;
  next: number; total: number; last?: string; conflicts?: number; torn?: string;
}

/** One line of a run's log, as a device makes it. */
export interface BenchEvent {
  id: string; kind: Kind; cut?: number; at: string; seen: number; undoes?: string; piece?: number; reading?: number;
  width_um?: number; text?: string; settles?: string; choice?: "count" | "drop"; place?: string;
}
export type Kind = "done" | "undone" | "skipped" | "note" | "paused" | "resumed" | "held" | "measured" | "touched-up" |
  "placed" | "settled" | "finished" | "abandoned" | "reopened";

export interface Act { id: string; kind: string; cut: number; device?: string; at: string }
export interface Question { id: string; kind: string; cut?: number; device?: string; at: string; why: string; following?: Act[] }

export interface Run {
  id: string; job: string; title: string; digest: string; changed?: boolean; started: string; total: number; seq: number; state: Phase;
  next: number; counted: number; skipped?: { cut: number; text?: string }[]; unwitnessed?: number[]; last?: Act; conflicts?: Question[];
  pace?: Pace; left?: Span; elapsed_seconds?: number; held?: { by?: string; text?: string }; measured?: number;
  notes?: { at: string; cut?: number; device?: string; text: string }[];
}
export interface Span { seconds: number; low?: number; high?: number }
export interface Pace extends Span { cuts?: number }

export interface Stroke {
  number: number; written?: number; action: string; moves?: string | Part[]; spans?: { start: string; stop: string; ring?: boolean }[];
  hold?: string; hold_text?: string; change?: string; depth_um?: number; dials?: string[]; length_mm?: number;
  settings: { slide?: number; index?: number; shift?: number; chuck?: number; bar?: string };
}
export type Axis = "slide" | "index" | "shift" | "chuck" | "bar";
export interface Program {
  reading_unit: string; total: number; circle?: number; dials?: { axis: string; name: string; unit?: string }[]; after_action?: string; cuts: Stroke[];
}

export interface Outcome { id: string; outcome: "kept" | "already" | "conflict" | "refused"; why?: string }
export interface Answer { seq: number; outcomes: Outcome[]; run?: Run }

export interface Candidate { next: number; last?: number; text: string; distance?: number; unlikely?: boolean }
export interface Places { candidates?: Candidate[]; exact?: boolean; text?: string }

export interface Share {
  shared: boolean; addresses?: string[]; secure?: boolean; code?: { text: string; expires: string; qr_url?: string };
  devices?: { id: string; name: string; paired?: string; last_seen?: string; here?: boolean }[]; this_device?: string | { id?: string; name?: string };
}

const of = (id: string) => `/api/runs/${encodeURIComponent(id)}`;

// A stroke is answered by the disk in milliseconds. The server waits up to 2.5 s for
// a disk that another program holds; longer than that and the network is gone.
const patience = 6000;

export const runs = {
  list: async () => (await read<{ runs?: RunLine[] }>("/api/runs")).runs ?? [],
  start: (id: string, job: string, device?: string) => send<Run>("POST", "/api/runs", { id, job, device }),
  get: (id: string) => read<Run>(of(id), patience),
  program: (id: string) => read<Program>(`${of(id)}/cuts.json`),
  cuts: async (id: string) => (await ask("GET", `${of(id)}/cuts.bin`)).arrayBuffer(),
  keep: (id: string, events: BenchEvent[], device?: string) => send<Answer>("POST", `${of(id)}/events`, { events, device }, patience),
  where: (id: string, dials: Record<string, string>) => read<Places>(`${of(id)}/where?${new URLSearchParams(dials)}`, patience),
  share: () => read<Share>("/api/share"),
  code: () => send<unknown>("POST", "/api/share/code", {}),
  revoke: (id: string) => ask("DELETE", `/api/share/devices/${encodeURIComponent(id)}`),
  rename: (id: string, name: string) => ask("PUT", `/api/share/devices/${encodeURIComponent(id)}`, { name }),
  pair: (code: string, name: string) => ask("POST", "/api/pair", { code, name }),
};

/** Says whether an error means that the network, not the server, failed. */
export const isAway = (e: unknown) => e instanceof Unreachable || e instanceof Problem && e.status >= 502 && !e.body.type;

/** A name that no other event has. (crypto.randomUUID is not there on a page without HTTPS.) */
export function newID(): string {
  const b = crypto.getRandomValues(new Uint8Array(16));
  b[6] = b[6]! & 0x0f | 0x40;
  b[8] = b[8]! & 0x3f | 0x80;
  const hex = Array.from(b, (x) => x.toString(16).padStart(2, "0")).join("");
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
}
