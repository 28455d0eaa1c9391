import "uplot/dist/uPlot.min.css";
import "./page.css";
import { effect, untracked } from "@preact/signals";
import { render } from "preact";
import { Page } from "./views/page";
import { listen, open, redo, told, undo } from "./store";
import { way } from "./way";

effect(() => {
  const { id } = way.value;
  untracked(() => open(id)).catch((e: Error) => { told.value = e.message; });
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

listen();
render(<Page />, document.getElementById("page")!);
