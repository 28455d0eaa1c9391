// Where in the page one is: "#/barleycorn/sheet" is the sheet of that job.
import { signal } from "@preact/signals";

export type View = "piece" | "depth" | "bar" | "sheet";
export const views: { view: View; name: string }[] = [
  { view: "piece", name: "Piece" }, { view: "depth", name: "Depth" }, { view: "bar", name: "Bar" }, { view: "sheet", name: "Sheet" },
];

function here(): { id: string | null; view: View } {
  const [id, view] = location.hash.replace(/^#\/?/, "").split("/");
  let name: string | null = null;
  try { name = id ? decodeURIComponent(id) : null; } catch { /* not one of ours */ }
  return { id: name, view: views.find((v) => v.view === view)?.view ?? "piece" };
}

export const way = signal(here());
window.addEventListener("hashchange", () => { way.value = here(); });

export const go = (hash: string) => { location.hash = hash; };
