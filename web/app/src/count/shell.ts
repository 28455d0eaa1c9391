// The service worker is taken on where a run is opened, on pages that may have one.
let asked = false;

export function keepShell(): void {
  if (asked || !("serviceWorker" in navigator) || !isSecureContext) return;
  asked = true;
  navigator.serviceWorker.register("/sw.js", { scope: "/" }).catch(() => { asked = false; /* the count goes on while the page stays open */ });
}
