// The server's API as docs/api.md has it.
import type { Recipe } from "./gl/renderer";

export interface Fault {
  file?: string; line?: number; column?: number; field?: string; path?: string;
  source_line?: string; problem: string; mend?: string;
}

export interface Choice { value: string; name: string }

/** Where a value stands when it is not in the job's own file. */
export interface InPart { kind: string; id: string; field: string; used_by?: string[] }

/** A stretch of a sentence: plain words in `text`, or a value. */
export interface Part {
  text?: string; value?: string; written?: string; unit?: string; field?: string;
  exact?: string; kind?: string; choices?: Choice[]; part?: InPart;
  count?: number; // of whole teeth, holes or divisions, with its sign
}

export interface Step {
  path: string; motion: string; parts: Part[]; first_cut?: number; line?: number;
  do?: Step[]; choices?: Step[][];
}

export type Loop = [number, number][];

export interface Area { name?: string; open?: boolean; loops: Loop[] }

export interface Job {
  id: string; title: string; units: "mm" | "inch"; text: string; revision: string; digest?: string;
  values?: { path: string; text: string }[];
  faults?: Fault[]; stale?: boolean;
  sentences?: { section: string; parts: Part[] }[];
  steps?: Step[];
  cuts?: { count: number; strokes: number; length_mm: number; seconds?: number; engine_kind: string; reading_unit: string; index_circle?: number };
  outline?: { width_mm: number; height_mm: number; centre: [number, number]; loops: Loop[]; windows?: Area[]; keep_clear?: Area[] };
  metal?: string; colour?: string;
  cutter?: { included_deg: number; flat_mm: number; clearance_deg?: number };
  warnings?: { kind: string; first_cut?: number; last_cut?: number; line?: number; text: string }[];
  closures?: { axis: string; cuts: number; closes: boolean; text: string; offers?: string[] }[];
  has?: { bar?: boolean; depth?: boolean };
}

export interface Workshop {
  name: string; folder_name: string; version: string; units: "mm" | "inch";
  jobs: { id: string; title: string; units: string; modified: string; digest?: string; picture_url?: string; faults?: number }[];
  parts: Record<string, { id: string; name: string }[]>;
  patterns: { id: string; title: string; engine_kind?: string; picture_url: string }[];
  left_out?: number;
}

export interface CutFacts {
  number: number; action: string; field?: string; line?: number; slide_mm?: number; turned_deg?: number;
  phase_mm?: number; phase_deg?: number; depth_mm: number; start?: number; stop?: number;
  settings: { slide?: number; index?: number; shift?: number; chuck?: number; bar?: string };
}

export interface BarFacts {
  name: string; bar: string; bars: { value: string; name: string }[]; rosette?: boolean; figure: string; field?: string; part?: InPart;
  touch_mm?: number; unit: "mm" | "deg"; period?: number; from: number; to: number;
  at: number[]; edge_mm: number[]; path_mm: number[]; lost?: { from: number; to: number; depth_um: number }[]; slight?: number;
  kinks?: number[]; points?: [number, number][]; spline?: boolean;
  smallest_hollow_mm?: number; smallest_bump_mm?: number; steepest_edge_deg?: number; steepest_path_deg?: number;
  drawn_mm?: number; left_mm?: number;
}

export interface Range { min: number; mean: number; max: number }

export interface DepthPlan {
  closed?: boolean; begin?: number; advance?: string; tolerance?: number;
  choices?: { kind: string; first?: number; last?: number; forced?: boolean; text: string }[];
  holds?: { first: number; last: number; by: string; text: string }[];
  compared?: { way: string; width_um?: Range; step_um?: number; step_to?: number; within?: number; out?: number }[];
  cuts?: { number: number; written: number; by: string; depth_um?: Range; width_um?: Range; reference?: string; lowered_um?: number; step_um?: number }[];
}

export interface DepthPlaces {
  at: number[]; x: number[]; y: number[]; stock_um: number[]; ground_um: number[]; tip_um: number[];
  depth_um: number[]; width_um: number[]; reference: string[];
}

export interface Deviation { peak_to_valley_um: number; rms_um: number }

export interface Truing {
  before?: Deviation; best?: Deviation; after?: Deviation;
  turns?: { screw: string; parts?: number; division?: number; rise_um?: number; text: string }[];
  screws?: { name: string; x: number; y: number }[];
  expect?: { x: number; y: number; z_um: number }[];
  remarks?: string[];
}

/** How the piece takes the light: the rose, and what it is in words. */
export interface Looked {
  scene: string; sentences: string[];
  rose: { azimuths_deg: number[]; heights_deg: number[]; brightness: number[][]; best: { azimuth_deg: number; height_deg: number } };
}

/** An answer of the server that is not what was asked for. */
export class Problem extends Error {
  constructor(readonly status: number, readonly body: {
    type?: string; title?: string; detail?: string; faults?: Fault[];
    text?: string; revision?: string; part?: InPart;
  }) {
    super(body.detail || body.title || `the server answered ${status}`);
  }
  is(kind: string): boolean { return this.body.type === `/problems/${kind}`; }
}

/** The server did not answer at all. */
export class Unreachable extends Error {}

/** The page's own name, so that it knows its own changes among the events. */
export const client = `page-${Array.from(crypto.getRandomValues(new Uint8Array(9)), (b) => (b % 36).toString(36)).join("")}`;

/** Asks the server; with patience (ms), one that does not answer by then is unreachable. */
export async function ask(method: string, path: string, body?: unknown, type = "application/json", patience?: number): Promise<Response> {
  let answer: Response;
  try {
    answer = await fetch(path, {
      method, cache: method === "GET" ? "default" : "no-store",
      headers: { "Brightcut-Client": client, ...(body === undefined ? {} : { "Content-Type": type }) },
      body: body === undefined ? undefined : type === "application/json" ? JSON.stringify(body) : (body as string),
      signal: patience ? AbortSignal.timeout(patience) : undefined,
    });
  } catch {
    throw new Unreachable("The workshop's server does not answer.");
  }
  if (!answer.ok) {
    let problem = {};
    try { problem = await answer.json(); } catch { /* no body that says more */ }
    throw new Problem(answer.status, problem);
  }
  return answer;
}

// An answer that breaks off in the midst is none.
const whole = <T>(answer: Response): Promise<T> =>
  answer.json().catch(() => { throw new Unreachable("The answer of the workshop's server broke off."); });

export const read = async <T>(path: string, patience?: number) => whole<T>(await ask("GET", path, undefined, undefined, patience));
export const send = async <T>(method: string, path: string, body?: unknown, patience?: number) =>
  whole<T>(await ask(method, path, body, undefined, patience));

export interface SetRequest { field: string; value: string; if_revision: string; scope?: "part" | "copy"; part_name?: string }
export interface EditRequest { op: string; path: string; value?: string; to?: string; count?: number; if_revision: string }

const of = (id: string) => `/api/jobs/${encodeURIComponent(id)}`;
const asked = (q: Record<string, string | number | undefined>) =>
  "?" + new URLSearchParams(Object.entries(q).filter(([, v]) => v !== undefined).map(([k, v]) => [k, String(v)])).toString();

export const api = {
  workshop: () => read<Workshop>("/api/workshop"),
  job: (id: string) => read<Job>(of(id)),
  put: (id: string, text: string, if_revision: string) => send<Job>("PUT", of(id), { text, if_revision }),
  set: (id: string, r: SetRequest) => send<Job>("POST", `${of(id)}/set`, r),
  edit: (id: string, r: EditRequest) => send<Job>("POST", `${of(id)}/edit`, r),
  start: (from: { pattern: string } | { job: string }, title: string) => send<Job>("POST", "/api/jobs", { from, title }),
  remove: (id: string) => send<{ trash_id: string }>("DELETE", of(id)),
  trash: () => read<{ items?: { trash_id: string; kind: string; id: string; title: string; deleted: string }[] }>("/api/trash"),
  restore: (trash: string) => send<{ kind: string; id: string }>("POST", `/api/trash/${encodeURIComponent(trash)}/restore`, {}),
  cuts: async (id: string, digest?: string) => (await ask("GET", `${of(id)}/cuts.bin${asked({ digest })}`)).arrayBuffer(),
  cutFacts: (id: string, digest?: string) => read<{ reading_unit: string; cuts: CutFacts[] }>(`${of(id)}/cuts.json${asked({ digest })}`),
  section: (id: string, line: [number, number, number, number], n: number, digest?: string) =>
    read<{ length_mm: number; heights_um: number[]; flat?: boolean }>(
      `${of(id)}/section${asked({ ax: line[0], ay: line[1], bx: line[2], by: line[3], n, digest })}`),
  picture: (id: string, q: Record<string, string | number | undefined>) => `${of(id)}/picture.png${asked(q)}`,
  look: (id: string, q: Record<string, string | number | undefined>) => read<Recipe>(`${of(id)}/look${asked(q)}`),
  rose: (id: string, q: Record<string, string | number | undefined>) => read<Looked>(`${of(id)}/rose${asked(q)}`),
  sheet: (id: string, kind: "html" | "txt" | "pdf", q: Record<string, string | undefined> = {}) => `${of(id)}/sheet.${kind}${asked(q)}`,
  bar: (id: string, name?: string, n?: number) => read<BarFacts>(`${of(id)}/bar${asked({ name, n })}`),
  barTry: (id: string, body: { name: string; points: [number, number][]; spline: boolean }) => send<BarFacts>("POST", `${of(id)}/bar/try`, body),
  barPoints: (id: string, body: { name: string; points: [number, number][]; spline: boolean; if_revision: string; scope?: string; part_name?: string }) =>
    send<Job>("POST", `${of(id)}/bar/points`, body),
  depth: (id: string, digest?: string) => read<DepthPlan>(`${of(id)}/depth${asked({ digest })}`),
  depthPlaces: (id: string, cut: number, digest?: string) => read<DepthPlaces>(`${of(id)}/depth/places${asked({ cut, digest })}`),
  depthMap: async (id: string, pixels: number, digest?: string) => {
    const answer = await ask("GET", `${of(id)}/depth/map.png${asked({ pixels, digest })}`);
    return { scale: (answer.headers.get("Brightcut-Scale") ?? "").split(",").map(Number), picture: URL.createObjectURL(await answer.blob()) };
  },
  readings: async (id: string, csv: string, check: boolean) =>
    (await ask("POST", `${of(id)}/readings${check ? "?check=1" : ""}`, csv, "text/csv")).json() as Promise<Job>,
  truing: (id: string, digest?: string) => read<Truing>(`${of(id)}/truing${asked({ digest })}`),
  copyPart: (kind: string, name: string, from?: string) => send<{ id: string; name: string }>("POST", `/api/parts/${kind}`, { name, ...(from ? { from } : {}) }),
};
