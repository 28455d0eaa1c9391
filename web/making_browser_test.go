package web_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"context"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/chromedp"
)

// An edge is taken from a drawing, found for a path, and had in the formats of other
// programs, as one who makes bars does on the page.
func TestMakingInBrowser(t *testing.T) {
	slow.may(t)
	b := &tabs{browser(t)}
	s := newShop(t, "barleycorn")
	tb := s.open(b.ctx, t, "#/barleycorn/bar", 1280, 900)
	tb.until("the bar", `document.querySelector("details.trace")`)
	tb.eval(`for (const d of document.querySelectorAll(".bar details")) d.open = true, 0`)

	choose := func(name string) {
		tb.do(chromedp.Func(func(ctx context.Context, at *chromedp.Target) error {
			doc, err := cdp.Call(ctx, at, dom.GetDocument, dom.GetDocumentParams{})
			if err != nil {
				return err
			}
			found, err := cdp.Call(ctx, at, dom.QuerySelector, dom.QuerySelectorParams{NodeID: doc.Root.NodeID, Selector: ".trace input[type=file]"})
			if err != nil {
				return err
			}
			_, err = cdp.Call(ctx, at, dom.SetFileInputFiles, dom.SetFileInputFilesParams{NodeID: found.NodeID, Files: []string{name}})
			return err
		}))
	}
	bad := filepath.Join(s.folder, "back.svg")
	if err := os.WriteFile(bad, []byte(`<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="10mm" viewBox="0 0 40 10"><path d="M0 5 L20 3 L15 7 L40 5"/></svg>`), 0o644); err != nil {
		t.Fatal(err)
	}
	choose(bad)
	tb.until("the fault with its mend", `document.querySelector(".trace .faults")?.textContent.includes("Mend:")`)
	tb.forgive("bar/trace") // the answer to a drawing that cannot be taken
	choose(filepath.Join(s.folder, "drawings", "worn-wave.svg"))
	tb.until("the edge that was read", `document.querySelector(".trace .chart") && document.querySelector(".trace").textContent.includes("a wave of 8")`)
	tb.keep("bar-trace")
	tb.click("Take this edge")
	until(t, "the part", func() bool {
		text, err := os.ReadFile(filepath.Join(s.folder, "bars", "worn-wave.yaml"))
		return err == nil && strings.HasPrefix(string(text), "# Traced from worn-wave.svg.") && strings.Contains(s.file("barleycorn"), "bar: worn-wave")
	})
	tb.until("the new bar", `document.querySelector(".bar h2")?.textContent === "worn-wave"`)

	tb.eval(`for (const d of document.querySelectorAll(".bar details")) d.open = true, 0`)
	tb.click("Find the edge")
	tb.until("the edge for the path", `document.querySelector(".inverse .chart") && /The path can/.test(document.querySelector(".inverse").textContent)`)
	tb.click("Keep this edge as a part")
	until(t, "the made part", func() bool { return strings.Contains(s.file("barleycorn"), "bar: worn-wave-made") })

	tb.until("the made bar", `document.querySelector(".bar h2")?.textContent === "worn-wave-made"`)

	for _, file := range []string{"bar.svg", "cuts.dxf"} {
		url := tb.text(`[...document.querySelectorAll(".downloads a")].find((a) => a.textContent === "` + file + `").getAttribute("href")`)
		if text := tb.fetch(url); len(text) < 500 {
			t.Errorf("%s is %.100q", file, text)
		}
	}
	tb.eval(`for (const d of document.querySelectorAll(".bar details")) d.open = true, 0`)
	tb.audit(readAxe(t), "bar-making", [2]int64{1280, 900})
	tb.keep("bar-making")
}
