// The page: a line of words at the top, the view below, what is told at the foot.
import { useEffect } from "preact/hooks";
import { canRedo, canUndo, job, redo, saving, showUnits, shownUnits, told, undo } from "../store";
import { views, way } from "../way";
import { Bar } from "./bar";
import { Count } from "./count";
import { Depth } from "./depth";
import { Inspect } from "./inspect";
import { Piece } from "./piece";
import { SetUp } from "./setup";
import { Share, sharing } from "./share";
import { Sheet } from "./sheet";
import { Shelf } from "./shelf";
import { Start } from "./start";

export function Page() {
  const { id, view, run } = way.value, j = job.value;
  useEffect(() => { if (!run) document.title = j ? `${j.title} · Brightcut` : "Brightcut"; }, [j?.title, run]);
  if (run) return <><Count key={run} />{sharing.value && <Share />}<p class="told" role="status" aria-live="polite">{told.value}</p></>;
  return (
    <>
      <a class="skip" href="#main" onClick={(e) => { e.preventDefault(); document.getElementById("main")?.focus(); }}>To the work</a>
      <header>
        <a class="mark" href="#/">Brightcut</a>
        {id === null ? null : (
          <>
            <h1 class="title">{j?.title ?? id}</h1>
            <nav aria-label="Views">
              {views.filter((v) => v.view !== "bar" || j?.has?.bar !== false).map((v) => (
                <a key={v.view} href={`#/${encodeURIComponent(id)}/${v.view}`} aria-current={v.view === view ? "page" : undefined}>{v.name}</a>
              ))}
            </nav>
          </>
        )}
        <span class="states">
          {id !== null && <>
            <button type="button" class="word" disabled={!canUndo.value} onClick={undo}>undo</button>
            <button type="button" class="word" disabled={!canRedo.value} onClick={redo}>redo</button>
            <Saved />
          </>}
          {id === null && <button type="button" class="word" onClick={() => { sharing.value = true; }}>more screens</button>}
          <button type="button" class="word" aria-label={shownUnits.value === "mm" ? "mm: lengths are shown in millimetres; change" : "inch: lengths are shown in inches; change"} onClick={() => showUnits(shownUnits.value === "mm" ? "inch" : "mm")}>
            {shownUnits.value === "mm" ? "mm" : "inch"}</button>
        </span>
      </header>
      <main id="main" tabIndex={-1} class={id === null ? "on-shelf" : `on-${view}`}>
        {id === null ? <Shelf /> : !j ? <p class="waiting">{told.value || "Reading the job …"}</p> : (
          <>
            {(view === "piece" || view === "depth") && <Piece key={j.id} />}
            {view === "piece" && <SetUp />}
            {view === "depth" && <Depth key={j.id} />}
            {view === "bar" && <Bar key={j.id} />}
            {view === "sheet" && <Sheet />}
            {view === "count" && <Start key={j.id} />}
            {view === "inspect" && <Inspect key={j.id} />}
          </>
        )}
      </main>
      {sharing.value && <Share />}
      <p class="told" role="status" aria-live="polite">{told.value}</p>
    </>
  );
}

function Saved() {
  const words = { saved: "saved", saving: "saving …", waiting: "not saved: the server does not answer; kept here until it does" }[saving.value];
  return <span class={`saved ${saving.value}`} role={saving.value === "waiting" ? "alert" : undefined}>{words}</span>;
}
