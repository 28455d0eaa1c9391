// The server's API for edges from drawings, the edge for a path, and downloads.
import { ask, send, type Job } from "./api";

export interface Traced {
  rosette: boolean; unit: "mm" | "deg"; points: [number, number][]; drawn_points: number; wave?: number; waves?: number; count?: number;
  remarks: string[]; lines: { index: number; names: string[]; kind: string; length_mm: number }[];
}
export interface Wishes { index?: number; unit?: string; spline?: boolean; under?: boolean; silhouette?: boolean; repeat?: string; marks?: string; distance?: string; base?: string }
export interface Span { from: number; to: number; depth_um: number }
export interface Inverse {
  unit: "mm" | "deg"; possible: boolean; fall_um: number; missed: Span[]; nearest_off_um: number; smallest_hollow_mm?: number; steepest_deg: number; steep: boolean;
  tool_leaves: Span[]; departure_um?: number; at: number[]; wanted_mm: number[]; edge_mm: number[]; path_mm: number[];
}

const of = (id: string) => `/api/jobs/${encodeURIComponent(id)}`;

function query(name: string, file: File, w: Wishes, more: Record<string, string>): string {
  const q = new URLSearchParams({ name, filename: file.name, ...more });
  for (const [k, v] of Object.entries(w)) if (v !== undefined && v !== "" && v !== false && v !== 0) q.set(k, v === true ? "1" : String(v));
  return q.toString();
}

export const making = {
  trace: async (id: string, name: string, file: File, w: Wishes) => await (await ask("POST", `${of(id)}/bar/trace?${query(name, file, w, {})}`, file, "application/octet-stream")).json() as Traced,
  take: async (id: string, name: string, file: File, w: Wishes, take: string, if_revision: string) =>
    await (await ask("POST", `${of(id)}/bar/trace?${query(name, file, w, { take, if_revision })}`, file, "application/octet-stream")).json() as Job,
  inverse: (id: string, body: { name: string; touch_mm?: number; tool_mm?: number; nearest?: boolean }) => send<Inverse>("POST", `${of(id)}/bar/inverse`, body),
  takeInverse: (id: string, body: { name: string; touch_mm?: number; tool_mm?: number; nearest?: boolean; take: string; if_revision: string }) => send<Job>("POST", `${of(id)}/bar/inverse`, body),
  file: (id: string, file: string, options: Record<string, string> = {}) => `${of(id)}/export/${file}?${new URLSearchParams(options)}`,
};
