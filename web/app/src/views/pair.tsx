// On the tablet: the code that lets it in, and what it is to be called.
import { useState } from "preact/hooks";
import { runs } from "../count/runs";

/** The code that the QR picture brought along, "#code=…" or "?code=…". */
function brought(): string {
  return new URLSearchParams(location.search).get("code") ?? new URLSearchParams(location.hash.slice(1)).get("code") ?? location.hash.slice(1);
}

export function Pair() {
  const [code, setCode] = useState(brought());
  const [name, setName] = useState("");
  const [wrong, setWrong] = useState("");
  const [busy, setBusy] = useState(false);
  const pair = async (e: Event) => {
    e.preventDefault();
    setBusy(true);
    try {
      await runs.pair(code.trim(), name.trim());
      localStorage.setItem("device", name.trim());
      location.replace("/"); // the code is not left in the history
    } catch (x) {
      setWrong(x instanceof Error ? x.message : String(x));
      setBusy(false);
    }
  };
  return (
    <main id="main" tabIndex={-1} class="pair">
      <h1>Let this device into the workshop</h1>
      <form onSubmit={(e) => void pair(e)}>
        <p><label for="code">Code</label> <input id="code" class="entry" autocomplete="off" autocapitalize="characters" spellcheck={false} required value={code} onInput={(e) => setCode(e.currentTarget.value)} />
          <span class="quiet">The workshop’s own screen shows it under “more screens”.</span></p>
        <p><label for="name">Name of this device</label> <input id="name" class="entry" required maxLength={40} placeholder="bench tablet" value={name} onInput={(e) => setName(e.currentTarget.value)} />
          <span class="quiet">Counts made on it carry this name.</span></p>
        {wrong && <p class="wrong-word" role="alert">{wrong}</p>}
        <p><button type="submit" class="answer" disabled={busy}>{busy ? "Asking …" : "Let it in"}</button></p>
      </form>
    </main>
  );
}
