// What this device is called: as the workshop let it in, or, on the workshop's own
// computer, where several screens may have their own pages, as it was told here.
import { computed, signal } from "@preact/signals";
import { habits } from "./habits";
import { runs } from "./runs";

const letIn = signal(localStorage.getItem("device") ?? "");
export const called = computed(() => letIn.value || habits.value.name);

/** Asks the workshop for the name; without an answer the one kept here serves. */
export function learnDevice(): void {
  runs.share().then((s) => {
    const d = s.this_device;
    letIn.value = (typeof d === "string" ? d : d?.name) ?? "";
    localStorage.setItem("device", letIn.value);
  }, () => { /* the workshop does not answer, or is not shared */ });
}
