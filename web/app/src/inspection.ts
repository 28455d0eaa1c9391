// The server's API for measured widths, what they say, and what is kept of it.
import { ask, read, send } from "./api";

export interface Residual { cut: number; place: number; width_mm: number; planned_mm: number; off_mm: number; out_of_tolerance: boolean; told_mm: number; note?: string }
export interface Measure { cut: number; place: number; apart_mm: number }
export interface Rival { kind: string; text: string; behind: number; corrects?: object }
export interface Cause {
  kind: string; from_cut?: number; evidence: number; evidence_words: string; text: string; bench: string; caution?: string;
  rivals: Rival[] | null; undecided?: string; measure: Measure[] | null; corrects?: object;
}
export interface Report {
  tolerance: number; repeatability_mm: number; repeatability_basis: string; scatter_mm?: number; residuals: Residual[] | null;
  out_of_tolerance: number; rms_mm: number; rms_left_mm: number; causes: Cause[] | null; misread: { text: string }[] | null; remarks: string[] | null;
}
export interface Inspection { run: string; title: string; reading_unit: "mm" | "rad"; strokes: number; measured: number; report?: Report }

export interface Kept {
  file: string; number: number; date: string; from?: string; cutter?: string; guide?: string; engine?: string; counts: boolean; withdrawn?: string;
  values: { name: string; value: number; uncertainty: number; unit: string }[] | null;
  periodic?: { name: string; size: number; unit: string; turns: number; from: number }[];
}
export interface KeptList { calibrations: Kept[]; faults: { file?: string; problem: string }[] }
export interface Quote { text: string[] }

const of = (run: string) => `/api/runs/${encodeURIComponent(run)}`;

export const inspection = {
  get: (run: string) => read<Inspection>(`${of(run)}/inspection`),
  widths: async (run: string, csv: string) => await (await ask("POST", `${of(run)}/inspection`, csv, "text/csv")).json() as Inspection,
  keep: (run: string, cause: number, rival: number) => send<KeptList>("POST", `${of(run)}/causes/${cause}/keep`, { rival }),
  kept: () => read<KeptList>("/api/calibrations"),
  withdraw: (k: Kept, withdrawn: boolean) => send<KeptList>("POST", `/api/calibrations/${encodeURIComponent(k.file)}/${k.number}`, { withdrawn }),
  quote: (job: string) => read<Quote>(`/api/jobs/${encodeURIComponent(job)}/quote`),
  drawing: (run: string, name: "chart" | "map", measured: number) => `${of(run)}/inspection/${name}.svg?measured=${measured}`,
  paper: (run: string, kind: "pdf" | "html" | "txt") => `${of(run)}/record.${kind}?zone=${encodeURIComponent(Intl.DateTimeFormat().resolvedOptions().timeZone || "UTC")}`,
  file: (run: string) => `${of(run)}/run.run`,
};
