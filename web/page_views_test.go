package web_test

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

func ruledAcross(t *testing.T, b *tabs) {
	s := newShop(t, "parallel-lines")
	tb := s.open(b.ctx, t, "#/parallel-lines", 900, 700)
	tb.drawn(1)
	tb.eval(`[...document.querySelectorAll("button")].find((b) => b.textContent === "measure across").click()`)
	tb.until("the line in words", `document.querySelectorAll(".across input").length === 4`)
	for i, v := range []string{"-3", "0", "3", "4"} {
		tb.eval(fmt.Sprintf(`(() => { const i = document.querySelectorAll(".across input")[%d]; i.value = %q; i.dispatchEvent(new Event("change", {bubbles: true})); })()`, i, v))
	}
	tb.until("the section", `document.querySelector(".across .chart canvas")`)
	text := tb.text(`document.querySelector(".across").textContent`)
	for _, want := range []string{"7.211 mm", "33.69°", "50.0 µm"} { // √(6² + 4²); atan(4/6); the depth of the cuts
		if !strings.Contains(text, want) {
			t.Errorf("across the work it says %q, want %s", text, want)
		}
	}
}

func depthPlanned(t *testing.T, b *tabs) {
	s := newShop(t, "bowed-dial")
	tb := s.open(b.ctx, t, "#/bowed-dial/depth", 900, 700)
	tb.until("the plan", `document.querySelector(".depth .sentences")?.textContent.includes("engage the stop")`)
	tb.until("the map", `document.querySelector(".map img")?.naturalWidth > 100`)
	tb.until("the charts", `document.querySelectorAll(".depth .chart canvas").length === 2`)
	tb.until("three screws with their turns", `document.querySelectorAll(".chuck .turns").length === 3`)
	tb.eval(`document.querySelector('[aria-label="Cut in hand"]').focus()`)
	tb.until("the cut lit on the piece", `document.querySelector(".pointed")?.textContent.startsWith("Cut ")`)
	// Readings that are none are refused with their lines, and the job stays.
	before := s.file("bowed-dial")
	tb.eval(`(() => { const a = document.querySelector(".readings textarea"); a.closest("details").open = true; a.value = "x mm, y mm, z um\n1, 2, high\n"; a.dispatchEvent(new Event("input", {bubbles: true})); })()`)
	tb.until("the word to take them", `!document.querySelector(".readings button").disabled`)
	tb.eval(`document.querySelector(".readings button").click()`)
	tb.until("the fault", `document.querySelector(".readings .faults")?.textContent.includes("high")`)
	if s.file("bowed-dial") != before {
		t.Error("the job was changed by readings that cannot be read")
	}
	tb.forgive("422")
}

func pictureServes(t *testing.T, b *tabs) {
	s := newShop(t, "barleycorn")
	tb := s.open(b.ctx, t, "", 700, 420)
	tb.do(func(ctx context.Context, target *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, target, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{
			Source: `HTMLCanvasElement.prototype.getContext = () => null`})
		return chromedp.Void{}, err
	})
	tb.do(chromedp.Navigate("about:blank"), chromedp.Navigate(s.address+"/#/barleycorn"))
	tb.until("the server's picture", `document.querySelector(".still")?.naturalWidth > 100`)
	was := tb.text(`document.querySelector(".still").src`)
	tb.eval("document.querySelector('.stage').focus()")
	tb.press("ArrowLeft", 8)
	tb.until("another picture for another lamp", fmt.Sprintf(`document.querySelector(".still")?.src !== %q && document.querySelector(".still").naturalWidth > 100`, was))
}

func sheetPrinted(t *testing.T, b *tabs) {
	s := newShop(t, "barleycorn")
	tb := s.open(b.ctx, t, "#/barleycorn/sheet", 900, 700)
	tb.until("the sheet", `document.querySelector("iframe")?.contentDocument?.body?.textContent.includes("160 strokes")`)
	tb.eval(`document.querySelector("iframe").contentWindow.print = () => { window.printed = true; }; [...document.querySelectorAll("button")].find((b) => b.textContent === "Print it").click()`)
	if tb.eval("window.printed") != true {
		t.Error("the sheet was not printed")
	}
	if pdf := tb.fetch(tb.text(`[...document.querySelectorAll(".sheet a")].find((a) => a.textContent === "PDF").getAttribute("href")`)); !strings.HasPrefix(string(pdf), "%PDF-") {
		t.Errorf("the PDF begins with %.20q", pdf)
	}
}

func barDrawn(t *testing.T, b *tabs) {
	s := newShop(t, "barleycorn")
	tb := s.open(b.ctx, t, "#/barleycorn/bar", 900, 700)
	tb.until("the bar", `document.querySelector(".bar-drawing .edge")`)
	// Handbook of the figure: a sine of 0.25 mm and a wave of 3 mm has hollows of λ²/(4π²a) = 0.912 mm and slopes of 27.64°.
	text := tb.text(`document.querySelector(".bar .lead").textContent`)
	for _, want := range []string{"0.912 mm", "27.64°"} {
		if !strings.Contains(text, want) {
			t.Errorf("of the bar it says %q, want %s", text, want)
		}
	}
	tb.eval(`[...document.querySelectorAll(".bar button")].find((b) => b.textContent.startsWith("Draw the edge")).click()`)
	tb.until("points", `document.querySelectorAll(".bar-drawing .point").length > 4`)
	before := tb.text(`document.querySelector(".bar-drawing .edge").getAttribute("d")`)
	tb.eval(`document.querySelectorAll(".bar-drawing .point")[3].focus()`)
	tb.press("ArrowUp", 8)
	tb.until("the edge to follow the point", fmt.Sprintf(`document.querySelector(".bar-drawing .edge").getAttribute("d") !== %q`, before))
	if strings.Contains(s.file("barleycorn"), "points") {
		t.Error("the edge was kept before anyone said so")
	}

	tb.click("put it back")
	time.Sleep(200 * time.Millisecond) // for a trial of the points that may be on its way
	// The points of an edge that is drawn lie on it, wherever it begins and whether it
	// repeats or not.
	for name, keys := range map[string]string{"Ramp": "", "Wave": "repeats: true\n"} {
		ramp := "name: " + name + "\nfigure: points\npoints: [[-13, 0.1], [-4, 0.7], [1, 0.2], [13, 0.1]]\n" + keys
		if err := os.WriteFile(filepath.Join(s.folder, "bars", "ramp.yaml"), []byte(ramp), 0o644); err != nil {
			t.Fatal(err)
		}
		job := strings.NewReplacer("bar: fine-sine", "bar: ramp", "shift: 1/2 wave", "shift: 1.5 mm", "shift: -1/2 wave", "shift: -1.5 mm").Replace(s.file("barleycorn"))
		if err := os.WriteFile(filepath.Join(s.folder, "barleycorn.yaml"), []byte(job), 0o644); err != nil {
			t.Fatal(err)
		}
		tb.until(name, `document.querySelector(".bar h2")?.textContent === "`+name+`" && document.querySelectorAll(".bar-drawing .point").length === 4`)
		tb.until("its ends on the edge", `(() => {
			const dots = [...document.querySelectorAll(".bar-drawing .point")].map((p) => [p.cx.baseVal.value, p.cy.baseVal.value]);
			const ends = document.querySelector(".bar-drawing .edge").getAttribute("d").slice(1).split("L").map((xy) => xy.split(" ").map(Number));
			return [[dots[0], ends[0]], [dots[3], ends.at(-1)]].every(([p, q]) => Math.hypot(p[0] - q[0], p[1] - q[1]) < 1);
		})()`)
		tb.forgive("422") // an editor empties the file before it writes it
	}

	// A bar cut on both edges: each can be looked at.
	two := newShop(t, "two-edges").open(b.ctx, t, "#/two-edges/bar", 900, 700)
	two.until("the bars of the job", `[...document.querySelectorAll('[aria-label="Which bar"] option')].map((o) => o.textContent).includes("Two-sided bar turned round")`)
	two.eval(`(() => { const i = document.querySelector('[aria-label="Which bar"]'); i.value = "two-sided other side"; i.dispatchEvent(new Event("change", {bubbles: true})); })()`)
	two.until("the other side", `document.querySelector(".bar h2").textContent === "Two-sided bar turned round"`)
}

func shelfKept(t *testing.T, b *tabs) {
	s := newShop(t, "barleycorn", "sunburst")
	tb := s.open(b.ctx, t, "", 900, 700)
	tb.until("two jobs with pictures", `document.querySelectorAll(".pieces .picture img.here").length === 2`)
	tb.keep("shelf-small")
	tb.eval(`document.querySelector('[aria-label="Copy Barleycorn panel"]').click()`)
	tb.until("the copy", `document.querySelectorAll(".pieces > li").length === 3`)
	tb.eval(`document.querySelector('[aria-label="Barleycorn panel copy to the trash"]').click()`)
	tb.until("the copy to go", `document.querySelectorAll(".pieces > li").length === 2`)
	tb.eval(`[...document.querySelectorAll(".question button")].find((b) => b.textContent === "Take it back").click()`)
	tb.until("the copy to come back", `document.querySelectorAll(".pieces > li").length === 3`)
	tb.eval(`[...document.querySelectorAll("button")].find((b) => b.textContent === "Begin a new job").click()`)
	tb.until("patterns", `document.querySelectorAll(".patterns input").length > 5`)
	tb.eval(`document.querySelector('.patterns input[value="hobnail"]').click()`)
	tb.eval(`(() => { const i = document.querySelector('.begin-foot input'); i.value = "Box lid"; i.dispatchEvent(new Event("input", {bubbles: true})); })()`)
	tb.until("the choice", `!document.querySelector('.begin button[type=submit]').disabled`)
	tb.eval(`document.querySelector('.begin button[type=submit]').click()`)
	tb.forgive("picture.png") // of a copy that is no longer there
	tb.until("the new job", `location.hash === "#/box-lid" && document.querySelector(".title")?.textContent === "Box lid"`)
	if !strings.Contains(s.file("box-lid"), "Box lid") {
		t.Error("the new job is not in the folder")
	}
}

// byKeyboard changes a value from the shelf on without a pointer, and sees the
// focus at every stop.
func byKeyboard(t *testing.T, b *tabs) {
	s := newShop(t, "barleycorn")
	tb := s.open(b.ctx, t, "", 900, 700)
	tb.until("the shelf", `document.querySelector(".pieces a")`)
	tabTo := func(what, js string) {
		t.Helper()
		for range 60 {
			tb.press("Tab", 0)
			if seen := tb.text(`(() => { const e = document.activeElement, s = getComputedStyle(e); return s.outlineStyle !== "none" && parseFloat(s.outlineWidth) >= 2 ? "" : e.outerHTML.slice(0, 120); })()`); seen != "" {
				t.Fatalf("the focus is not seen at %s", seen)
			}
			if tb.eval("!!("+js+")") == true {
				return
			}
		}
		t.Fatalf("no way to %s by the tab key", what)
	}
	tabTo("the job", `document.activeElement.matches(".pieces a")`)
	tb.press("Enter", 0)
	tb.drawn(1)
	tabTo("the piece", `document.activeElement.matches(".stage")`)
	was := tb.text("document.querySelector('.slide output').textContent")
	tb.press("ArrowLeft", 8)
	tb.until("the lamp to move", fmt.Sprintf("document.querySelector('.slide output').textContent !== %q", was))
	tabTo("the depth", `document.activeElement.dataset.field === "depth"`)
	tb.press("Enter", 0)
	tb.until("the editor", "document.activeElement.matches('.editor .entry')")
	tb.press("ArrowUp", 0)
	tb.press("Enter", 0)
	until(t, "the file to follow", func() bool { return strings.Contains(s.file("barleycorn"), "depth: 0.046") })
	tb.until("the focus to come back", `document.activeElement.dataset.field === "depth"`)
	tabTo("a line of the sequence", `document.activeElement.matches(".handle")`)
	tb.press("Enter", 0)
	tabTo("its words", `document.activeElement.textContent === "copy"`)
}

// accessible runs axe-core over every view at the widths of desktop, tablet and
// phone, and keeps the pictures where BRIGHTCUT_SCREENSHOTS says.
func accessible(t *testing.T, b *tabs) {
	axe := readAxe(t)
	s := newShop(t, "barleycorn", "sunburst", "wavy-dial", "lantern-pendant")
	tb := s.open(b.ctx, t, "", 1440, 900)
	layers := 1
	if os.Getenv("BRIGHTCUT_SCREENSHOTS") != "" {
		layers = 4 // to be looked at
	}
	for _, size := range [][2]int64{{1440, 900}, {1024, 768}, {390, 844}, {320, 640}} {
		tb.do(chromedp.EmulateViewport(size[0], size[1]))
		for _, view := range []struct{ name, place, ready string }{
			{"shelf", "#/", `document.querySelectorAll(".picture img.here").length >= 2`},
			{"piece", "#/barleycorn", fmt.Sprintf(`+%s?.dataset.layers >= %d && document.querySelector(".steps")`, stage, layers)},
			{"depth", "#/barleycorn/depth", `document.querySelector(".depth .chart, .depth .waiting")`},
			{"bar", "#/barleycorn/bar", `document.querySelector(".bar-drawing .edge")`},
			{"sheet", "#/barleycorn/sheet", `document.querySelector("iframe")?.contentDocument?.body?.textContent.length > 500`},
		} {
			tb.eval(fmt.Sprintf("location.hash = %q", view.place))
			tb.until("the view "+view.name, view.ready)
			name := fmt.Sprintf("%s-%dx%d", view.name, size[0], size[1])
			tb.keep(name)
			if size[0] == 1024 || size[0] == 320 {
				tb.narrow(name, size[0])
				continue
			}
			tb.audit(axe, view.name, size)
		}
	}
	tb.forgive("404") // the depth of a job that has no plan yet
	tb.forgive("422")
}

// readAxe reads axe-core, which npm ci brings.
func readAxe(t *testing.T) string {
	t.Helper()
	axe, err := os.ReadFile("app/node_modules/axe-core/axe.min.js")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("%v: run npm ci in web/app", err)
		}
		t.Skip("axe-core is not there: run npm ci in web/app")
	}
	return string(axe)
}

// narrow wants nothing to be scrolled sideways to be read.
func (tb *tab) narrow(name string, width int64) {
	tb.t.Helper()
	if w := tb.eval("document.documentElement.scrollWidth").(float64); w > float64(width) {
		tb.t.Errorf("%s is %v pixels wide in a window of %d", name, w, width)
	}
}

// audit wants a view without faults that axe-core finds serious.
func (tb *tab) audit(axe, view string, size [2]int64) {
	tb.t.Helper()
	name := fmt.Sprintf("%s-%dx%d", view, size[0], size[1])
	tb.narrow(name, size[0])
	tb.eval("window.axe || (" + "() => {" + axe + "\n})(), 0")
	report := tb.text(`axe.run(document, {resultTypes: ["violations"], runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]})
		.then((r) => JSON.stringify(r.violations.map((v) => ({id: v.id, impact: v.impact, help: v.help, nodes: v.nodes.slice(0, 3).map((n) => n.html.slice(0, 200) + " " + (n.any[0]?.message ?? ""))}))))`)
	var found []struct {
		ID, Impact, Help string
		Nodes            []string
	}
	if err := json.Unmarshal([]byte(report), &found); err != nil {
		tb.t.Fatal(err)
	}
	for _, v := range found {
		if v.Impact == "serious" || v.Impact == "critical" {
			tb.t.Errorf("%s: %s (%s): %s\n  %s", name, v.ID, v.Impact, v.Help, strings.Join(v.Nodes, "\n  "))
		} else {
			tb.t.Logf("%s: %s (%s): %s %s", name, v.ID, v.Impact, v.Help, strings.Join(v.Nodes, " | "))
		}
	}
}
