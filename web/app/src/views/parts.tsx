// Parts of the bench: keys that the job does not name yet, and new parts.
import { useState } from "preact/hooks";
import { api } from "../api";
import { edit, job, refreshWorkshop, setField, told, workshop } from "../store";

/** Offers what the set-up does not say yet. */
export function NewPlaces() {
  const j = job.value!;
  const has = (key: string) => (j.values ?? []).some((v) => v.path === key || v.path.startsWith(`${key}.`) || v.path.startsWith(`${key}[`));
  const rose = j.cuts?.engine_kind === "rose";
  const guide = workshop.value?.parts.guides?.[0]?.id;
  const offers: { say: string; path: string; value: string }[] = [];
  if (!has("guide") && guide) offers.push({ say: "a guide", path: "guide", value: guide });
  if (!has("limits")) offers.push({ say: "readings to start and stop at", path: "limits", value: rose ? "{from: 0 deg, to: 90 deg}" : "{from: -5 mm, to: 5 mm}" });
  if (!has("blank.border")) offers.push({ say: "an uncut border", path: "blank.border", value: "1 mm" });
  if (!has("start")) offers.push({ say: "readings before the first cut", path: "start", value: "{slide: 0 mm}" });
  if (!has(rose ? "rosette" : "bar")) {
    const first = workshop.value?.parts[rose ? "rosettes" : "bars"]?.[0]?.id;
    if (first) offers.push({ say: rose ? "a rosette" : "a bar", path: rose ? "rosette" : "bar", value: first });
  }
  const keys = ["guide", "limits", "start"].filter(has);
  if (!offers.length && !keys.length) return null;
  return (
    <p class="quiet offers">
      {offers.length > 0 && <>Say more: {offers.map((o, i) => <span key={o.path}>{i > 0 && ", "}<button type="button" class="word" onClick={() => void edit({ op: "put", path: o.path, value: o.value })}>{o.say}</button></span>)}. </>}
      {keys.length > 0 && <>Do without: {keys.map((k, i) => <span key={k}>{i > 0 && ", "}<button type="button" class="word" onClick={() => void edit({ op: "remove", path: k })}>{k === "limits" ? "the start and stop readings" : k === "start" ? "the first readings" : "the guide"}</button></span>)}.</>}
    </p>
  );
}

const kinds = [
  { kind: "engines", key: "engine", say: "engine" }, { kind: "bars", key: "bar", say: "bar" }, { kind: "rosettes", key: "rosette", say: "rosette" },
  { kind: "cutters", key: "cutter", say: "cutter" }, { kind: "guides", key: "guide", say: "guide" }, { kind: "metals", key: "blank.metal", say: "metal" },
];

/** Makes a part of one that is there and puts it into the job. */
export function MakePart() {
  const rose = job.value?.cuts?.engine_kind === "rose";
  const fitting = kinds.filter((k) => k.kind !== (rose ? "bars" : "rosettes"));
  const [open, setOpen] = useState(false);
  const [kind, setKind] = useState("cutters");
  const [from, setFrom] = useState("");
  const [name, setName] = useState("");
  const have = workshop.value?.parts[kind] ?? [];
  const k = kinds.find((x) => x.kind === kind)!;
  const make = async (e: Event) => {
    e.preventDefault();
    try {
      const p = await api.copyPart(kind, name.trim(), from || have[0]?.id);
      await refreshWorkshop();
      await setField(k.key, p.id);
      told.value = `The new ${k.say} “${name.trim()}” is in the job; its values can be changed in the sentences.`;
      setOpen(false);
      setName("");
    } catch (x) {
      told.value = x instanceof Error ? x.message : String(x);
    }
  };
  if (!open) return <p class="quiet offers"><button type="button" class="word" onClick={() => setOpen(true)}>Make a new part for the bench</button></p>;
  return (
    <form class="make" onSubmit={(e) => void make(e)} onKeyDown={(e) => { if (e.key === "Escape") setOpen(false); }}>
      Make a new{" "}
      <select class="entry" aria-label="Kind of part" value={kind} ref={(s) => { if (s && document.activeElement === document.body) s.focus(); }} onChange={(e) => { setKind(e.currentTarget.value); setFrom(""); }}>
        {fitting.map((x) => <option key={x.kind} value={x.kind}>{x.say}</option>)}
      </select>{" "}
      like{" "}
      <select class="entry" aria-label="Like which one" value={from || have[0]?.id} onChange={(e) => setFrom(e.currentTarget.value)}>
        {have.map((p) => <option key={p.id} value={p.id}>{p.name}</option>)}
      </select>{" "}
      and call it <input class="entry" aria-label="Name of the new part" required maxLength={60} value={name} onInput={(e) => setName(e.currentTarget.value)} />{" "}
      <button type="submit" class="word strong" disabled={!name.trim() || !have.length}>make it</button> <button type="button" class="word" onClick={() => setOpen(false)}>or not</button>
    </form>
  );
}
