import "uplot/dist/uPlot.min.css";
import "./page.css";
import "./inspect.css";
import "./count.css";
import { effect, untracked } from "@preact/signals";
import { render } from "preact";
import { openRun } from "./count/keep";
import { keepShell } from "./count/shell";
import { Page } from "./views/page";
import { Pair } from "./views/pair";
import { listen, open, redo, told, undo } from "./store";
import { way } from "./way";

const pairing = location.pathname === "/pair";

let inRun: string | null = null;
effect(() => {
  const { id, run } = way.value;
  if (pairing) return;
  if (run !== inRun) untracked(() => openRun(inRun = run)).catch((e: Error) => { told.value = e.message; });
  if (run) keepShell(); // a run goes by its own frozen job
  else untracked(() => open(id)).catch((e: Error) => { told.value = e.message; });
});

window.addEventListener("keydown", (e) => {
  const typing = e.target instanceof HTMLInputElement || e.target instanceof HTMLTextAreaElement;
  if (!(e.ctrlKey || e.metaKey) || typing) return;
  const key = e.key.toLowerCase();
  if (key === "z" && !e.shiftKey) undo();
  else if (key === "y" || key === "z") redo();
  else return;
  e.preventDefault();
});

if (!pairing) listen();
render(pairing ? <Pair /> : <Page />, document.getElementById("page")!);
