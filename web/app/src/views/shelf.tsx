// The shelf: the jobs of the workshop, each with its picture.
import { signal } from "@preact/signals";
import { useEffect, useState } from "preact/hooks";
import { api } from "../api";
import { refreshWorkshop, told, workshop } from "../store";
import { go } from "../way";
import { Picture } from "./picture";
import { UnderWay } from "./start";

const sought = signal("");
const removed = signal<{ trash: string; title: string } | null>(null);

const say = (e: unknown) => { told.value = e instanceof Error ? e.message : String(e); };

export function Shelf() {
  const w = workshop.value;
  const [choosing, setChoosing] = useState(false);
  if (!w) return <><UnderWay /><p class="waiting">Opening the workshop …</p></>;
  const words = sought.value.toLowerCase().split(/\s+/).filter(Boolean);
  const jobs = w.jobs.filter((j) => words.every((x) => `${j.title} ${j.id}`.toLowerCase().includes(x)));
  return (
    <div class="shelf">
      <div class="shelf-head">
        <h1>{w.name || w.folder_name}</h1>
        <p class="quiet">{w.jobs.length} {w.jobs.length === 1 ? "job" : "jobs"} in the folder {w.folder_name}</p>
        <p class="shelf-words">
          <label>Look for <input class="entry" type="search" value={sought.value} onInput={(e) => { sought.value = e.currentTarget.value; }} /></label>
          <button type="button" class="word strong" aria-expanded={choosing} onClick={() => setChoosing(!choosing)}>{choosing ? "not now" : "Begin a new job"}</button>
        </p>
        {removed.value && <p class="question">“{removed.value.title}” lies in the trash. <button type="button" class="word strong" onClick={() => void restore(removed.value!.trash)}>Take it back</button></p>}
      </div>
      {choosing && <Begin close={() => setChoosing(false)} />}
      <UnderWay />
      <ul class="pieces">
        {jobs.map((j) => (
          <li key={j.id}>
            <a class="card" href={`#/${encodeURIComponent(j.id)}`}>
              {j.picture_url ? <Picture key={j.picture_url} src={j.picture_url} /> : <span class="picture quiet">no picture yet</span>}
              <span class="name">{j.title || j.id}</span>
            </a>
            <span class="quiet under">{j.faults ? <strong class="wrong-word">{j.faults} {j.faults === 1 ? "fault" : "faults"} to mend</strong> : when(j.modified)}
              <span class="words"><button type="button" class="word" aria-label={`Copy ${j.title}`} onClick={() => void copy(j.id, j.title)}>copy</button>
                <button type="button" class="word" aria-label={`${j.title} to the trash`} onClick={() => void remove(j.id, j.title)}>to the trash</button></span></span>
          </li>
        ))}
      </ul>
      {jobs.length === 0 && <p class="waiting">{w.jobs.length ? "No job has these words in its name." : "The folder has no job yet. Begin one from a trade pattern."}</p>}
      <Trash />
    </div>
  );
}

function when(iso: string): string {
  const d = new Date(iso);
  return Number.isNaN(d.getTime()) ? "" : d.toLocaleDateString(undefined, { day: "numeric", month: "long", year: "numeric" });
}

async function copy(id: string, title: string) {
  try {
    const j = await api.start({ job: id }, `${title} copy`);
    await refreshWorkshop();
    told.value = `Copied as “${j.title}”.`;
  } catch (e) { say(e); }
}

async function remove(id: string, title: string) {
  try {
    const t = await api.remove(id);
    removed.value = { trash: t.trash_id, title };
    await refreshWorkshop();
    told.value = `“${title}” lies in the trash.`;
  } catch (e) { say(e); }
}

async function restore(trash: string) {
  try {
    await api.restore(trash);
    removed.value = null;
    await refreshWorkshop();
    told.value = "It is back on the shelf.";
  } catch (e) { say(e); }
}

/** A new job from a trade pattern, chosen by its picture. */
function Begin({ close }: { close: () => void }) {
  const [picked, setPicked] = useState("");
  const [title, setTitle] = useState("");
  const patterns = workshop.value!.patterns;
  const make = async (e: Event) => {
    e.preventDefault();
    try {
      const j = await api.start({ pattern: picked }, title.trim() || patterns.find((p) => p.id === picked)!.title);
      close();
      go(`#/${encodeURIComponent(j.id)}`);
    } catch (x) { say(x); }
  };
  return (
    <form class="begin" onSubmit={(e) => void make(e)}>
      <fieldset>
        <legend>Choose how it should look</legend>
        <ul class="patterns">
          {patterns.map((p) => (
            <li key={p.id}><label class="card"><input type="radio" name="pattern" value={p.id} checked={picked === p.id} onChange={() => setPicked(p.id)} />
              <Picture key={p.picture_url} src={p.picture_url} /><span class="name">{p.title}</span></label></li>
          ))}
        </ul>
      </fieldset>
      <p class="begin-foot">Call it <input class="entry" aria-label="Title of the new job" maxLength={120} value={title} onInput={(e) => setTitle(e.currentTarget.value)} />{" "}
        <button type="submit" class="word strong" disabled={!picked}>and begin</button></p>
    </form>
  );
}

function Trash() {
  const [items, setItems] = useState<{ trash_id: string; kind: string; title: string; deleted: string }[]>([]);
  const load = () => api.trash().then((t) => setItems((t.items ?? []).filter((i) => i.kind === "jobs" || i.kind === "job")), () => {});
  useEffect(() => { void load(); }, [workshop.value]);
  if (!items.length) return null;
  return (
    <details class="trash">
      <summary>In the trash: {items.length}</summary>
      <ul>{items.map((i) => <li key={i.trash_id}>{i.title} <span class="quiet">{when(i.deleted)}</span> <button type="button" class="word" onClick={() => void restore(i.trash_id)}>take it back</button></li>)}</ul>
    </details>
  );
}
