// More screens: how a tablet is let in, and which are.
import { signal } from "@preact/signals";
import { useEffect, useRef, useState } from "preact/hooks";
import { Problem } from "../api";
import { runs, type Share as Facts } from "../count/runs";
import { told } from "../store";

export const sharing = signal(false);

export function Share() {
  const box = useRef<HTMLDialogElement>(null);
  useEffect(() => { box.current?.showModal(); }, []);
  const [facts, setFacts] = useState<Facts | null>(null);
  const [wrong, setWrong] = useState("");
  const [drawn, setDrawn] = useState(0); // so that a new code's picture is asked for anew
  const look = () => runs.share().then((f) => { setFacts(f); setWrong(""); }, (e: Error) => setWrong(e.message));
  useEffect(() => {
    void look();
    const t = window.setInterval(() => void look(), 5000); // a tablet that pairs shows by itself
    return () => window.clearInterval(t);
  }, []);
  const tell = (e: unknown) => { told.value = e instanceof Problem || e instanceof Error ? e.message : String(e); };
  const code = () => runs.code().then(() => { setDrawn((n) => n + 1); return look(); }).catch(tell);
  const revoke = (id: string, name: string) => runs.revoke(id).then(() => { told.value = `${name} is not let in any more.`; return look(); }).catch(tell);
  const rename = (id: string, name: string) => { if (name.trim()) runs.rename(id, name.trim()).then(look).catch(tell); };
  const c = facts?.code;
  return (
    <dialog class="share" ref={box} aria-labelledby="share-title" onClose={() => { sharing.value = false; }}>
      <h2 id="share-title">More screens</h2>
      {wrong ? <p class="wrong-word">{wrong}</p> : !facts ? <p class="quiet">Asking …</p> : !facts.shared ? (
        <p>The workshop is open to this machine alone. To count on a tablet too, end the program and begin it with <kbd>brightcut open --share</kbd>: it then answers the devices that you let in, on the workshop’s own network.</p>
      ) : (
        <>
          {c ? (
            <div class="code">
              {c.qr_url && <img src={`${c.qr_url}${c.qr_url.includes("?") ? "&" : "?"}n=${drawn}`} alt="The pairing address as a QR code" />}
              <div>
                <p>Point the tablet’s camera at the picture, or open this address on it and type the code:</p>
                <ul class="plain">{facts.addresses?.map((a) => <li key={a}><code>{a}</code></li>)}</ul>
                <p class="code-text">{c.text}</p>
                <p class="quiet">It lets one device in, until {new Date(c.expires).toLocaleTimeString(undefined, { hour: "2-digit", minute: "2-digit" })}.</p>
              </div>
            </div>
          ) : <ul class="plain">{facts.addresses?.map((a) => <li key={a}><code>{a}</code></li>)}</ul>}
          <p><button type="button" class="word strong" onClick={() => void code()}>{c ? "Make another code" : "Let a device in"}</button></p>
          {facts.devices?.length ? (
            <>
              <h3>Let in</h3>
              <ul class="plain devices">{facts.devices.map((d) => (
                <li key={d.id}><input class="entry" aria-label={`Name of ${d.name}`} value={d.name} onChange={(e) => rename(d.id, e.currentTarget.value)} />{" "}
                  <span class="quiet">{d.here ? "this device" : d.last_seen ? `last seen ${new Date(d.last_seen).toLocaleString()}` : ""}</span>{" "}
                  <button type="button" class="word danger" onClick={() => void revoke(d.id, d.name)}>let in no more</button></li>
              ))}</ul>
            </>
          ) : null}
        </>
      )}
      <p><button type="button" class="word" onClick={() => box.current?.close()}>Close</button></p>
    </dialog>
  );
}
