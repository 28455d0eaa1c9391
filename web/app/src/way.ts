// Where in the page one is: "#/barleycorn/sheet" is the sheet of that job, and
// "#/barleycorn/count/…" one of its runs at the engine.
import { signal } from "@preact/signals";

export type View = "piece" | "depth" | "bar" | "sheet" | "count" | "inspect";
export const views: { view: View; name: string }[] = [
  { view: "piece", name: "Piece" }, { view: "depth", name: "Depth" }, { view: "bar", name: "Bar" }, { view: "sheet", name: "Sheet" },
  { view: "count", name: "Count" }, { view: "inspect", name: "Inspect" },
];

function here(): { id: string | null; view: View; run: string | null; look: string | null } {
  const [id, view, run] = location.hash.replace(/^#\/?/, "").split("/");
  let name: string | null = null;
  try { name = id ? decodeURIComponent(id) : null; } catch { /* not one of ours */ }
  return { id: name, view: views.find((v) => v.view === view)?.view ?? "piece", run: view === "count" && run ? run : null, look: view === "inspect" && run ? run : null };
}

export const way = signal(here());
window.addEventListener("hashchange", () => { way.value = here(); });

export const go = (hash: string) => { location.hash = hash; };
