package web_test

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"

	"brightcut/examples"
)

// The inspection as someone at the microscope meets it: widths told one by one and
// as a table, the cause, what is kept of it and taken back.
func TestInspectInBrowser(t *testing.T) {
	slow.may(t)
	b := &tabs{browser(t)}
	s := newShop(t, "bowed-dial")
	text, err := examples.Workshop.ReadFile("runs/bowed-dial.run")
	if err != nil {
		t.Fatal(err)
	}
	answer, err := http.Post(s.address+"/api/runs/import", "application/octet-stream", bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	if raw, _ := io.ReadAll(answer.Body); answer.StatusCode != http.StatusCreated {
		t.Fatalf("%s: %.300s", answer.Status, raw)
	}
	answer.Body.Close()
	const run = "7d1f0c52-2c1e-4a7b-9a55-0d5e3c1f2a01"
	tb := s.open(b.ctx, t, "#/bowed-dial/inspect", 1440, 900)
	tb.until("the cause", `document.querySelector(".causes .cause")`)
	tb.until("the drawings", `[...document.querySelectorAll(".drawings img")].length === 2 && [...document.querySelectorAll(".drawings img")].every((i) => i.complete && i.naturalWidth > 0)`)
	if words := tb.text(`document.querySelector(".causes").textContent`); !strings.Contains(words, "Evidence: ") || !strings.Contains(words, "At the bench:") {
		t.Errorf("the cause is told as %q", words)
	}
	tb.keep("inspect")

	// One width by the keyboard; the next cut is suggested.
	tb.eval(`document.querySelector("[aria-label='Place measured, mm along the stroke']").focus()`)
	tb.write("14")
	tb.eval(`document.querySelector("#measured-width").focus()`)
	tb.write("0")
	tb.press("Enter", 0)
	tb.until("the fault", `document.querySelector(".inspect .faults")?.textContent.includes("Give the width in µm")`)
	tb.write("203,5")
	tb.press("Enter", 0)
	until(t, "the width in the log", func() bool {
		e := s.log(run, "measured")
		return len(e) == 73 && e[72].Cut == 1 && e[72].WidthUM == 203.5 && e[72].Reading == 14
	})
	tb.until("the next cut", `document.querySelector("[aria-label='Cut measured']").value === "19"`)

	// What would tell the causes apart is measured next.
	tb.eval(`[...document.querySelectorAll(".causes button")].find((x) => x.textContent.startsWith("Measure cut")).click()`)
	tb.until("the place filled in", `document.activeElement.id === "measured-width" && document.querySelector("[aria-label='Cut measured']").value !== "19"`)

	// A table with a fault says the line; mended, it is taken.
	table := func(text string) {
		tb.eval(fmt.Sprintf(`(() => { const a = document.querySelector("[aria-label='Widths as a table']"); a.closest("details").open = true; a.focus(); a.value = %q; a.dispatchEvent(new Event("input", {bubbles: true})); })()`, text))
		tb.until("the table", `[...document.querySelectorAll(".inspect button")].some((x) => x.textContent === "Take these widths" && !x.disabled)`)
		tb.click("Take these widths")
	}
	table("cut, place mm, width um\n12, 14, wide\n")
	tb.until("the fault's line", `document.querySelector(".inspect .faults")?.textContent.includes("Line 2")`)
	tb.forgive("inspection") // the answer to a table that cannot be read
	table("cut, place mm, width um\n12, 14, 202\n13, 14, 203\n")
	until(t, "the table in the log", func() bool { return len(s.log(run, "measured")) == 75 })

	// Kept, listed, withdrawn.
	tb.click("Keep this for later jobs")
	tb.until("what is kept", `document.querySelectorAll(".kept li").length === 2 && document.querySelector(".kept li").textContent.includes("This one counts")`)
	tb.eval(`document.querySelector(".kept").open = true, document.querySelector(".kept li button").click(), 0`)
	tb.until("the withdrawal", `document.querySelector(".kept li").textContent.includes("Withdrawn")`)
	tb.until("the quote", `document.querySelector(".inspect").textContent.includes("crowns in all")`)

	axe := readAxe(t)
	tb.audit(axe, "inspect", [2]int64{1440, 900})
	hand := s.open(b.ctx, t, "#/bowed-dial/inspect", 390, 844)
	hand.until("the cause", `document.querySelector(".causes .cause")`)
	hand.keep("inspect-hand")
	hand.audit(axe, "inspect", [2]int64{390, 844})
}
