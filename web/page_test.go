package web_test

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

func TestInBrowser(t *testing.T) {
	inBrowser(t, []browserTest{
		{"opens the example and moves the lamp", lampMoves, plain},
		{"grooves stand as far apart on the screen as on the work", groovesSpaced, slow},
		{"the page draws what the server draws", drawnAlike, slow},
		{"another room, rocking by hand, and the rose", sceneChanged, slow},
		{"rocking with the tablet", tabletRocked, slow},
		{"a value changes file, sentence and piece, and undo takes it back", valueChanged, plain},
		{"a broken value is told where it stands", valueBroken, slow},
		{"lines of the sequence are added, moved and taken out", sequenceChanged, slow},
		{"two tabs and a text editor", changedElsewhere, slow},
		{"tabs in the background let go of the server", backgroundLetsGo, slow},
		{"a file changed by another hand at the same time", changedAtOnce, slow},
		{"the depth is planned, cut by cut", depthPlanned, slow},
		{"without WebGL 2 the server's picture serves", pictureServes, slow},
		{"nothing is lost when the server stops", serverStops, slow},
		{"the ruler and the section across", ruledAcross, slow},
		{"the sheet is shown and printed", sheetPrinted, slow},
		{"the bar is drawn on", barDrawn, slow},
		{"the shelf begins, copies, throws away and takes back", shelfKept, slow},
		{"all by keyboard", byKeyboard, plain},
		{"accessible at every width", accessible, slow},
	})
}

func lampMoves(t *testing.T, b *tabs) {
	s := newShop(t, "barleycorn")
	tb := s.open(b.ctx, t, "#/barleycorn", 900, 420)
	tb.drawn(2)
	tb.keep("piece-small")
	before := tb.piece()
	tb.do(chromedp.MouseEvent(chromedp.MouseMoved, 120, 120))
	tb.until("the lamp to follow the pointer", "!document.querySelector('.slide output').textContent.startsWith('40')")
	tb.until("the ring to fade", "new Promise((r) => setTimeout(() => r(true), 1100))")
	kept := tb.eval("+" + stage + ".dataset.kept").(float64)
	if d := difference(before, tb.piece()); d < 2 {
		t.Errorf("the picture changed by %.2f levels when the lamp moved, want 2 or more", d)
	}
	// The lamp re-rasterises nothing: the layers stay.
	tb.do(chromedp.MouseEvent(chromedp.MouseMoved, 300, 200))
	if now := tb.eval("+" + stage + ".dataset.kept").(float64); now < kept {
		t.Errorf("moving the lamp drew the piece anew: %v layers were kept, then %v", kept, now)
	}
	// And by keys, with the words that a reader of the screen hears.
	tb.eval("document.querySelector('.stage').focus()")
	was := tb.text("document.querySelector('.slide output').textContent")
	tb.press("ArrowLeft", 0)
	tb.until("the lamp to follow the arrow", fmt.Sprintf("document.querySelector('.slide output').textContent !== %q", was))
	tb.until("the lamp to be told", "document.querySelector('.told').textContent.startsWith('Lamp from')")
}

// groovesSpaced measures the period of the grooves in the picture of the practice
// plate, whose cuts are 0.25 mm apart.
func groovesSpaced(t *testing.T, b *tabs) {
	s := newShop(t, "parallel-lines")
	tb := s.open(b.ctx, t, "#/parallel-lines", 900, 420)
	tb.drawn(1)
	tb.eval("document.querySelector('.stage').focus()")
	for range 7 {
		tb.press("+", 0)
	}
	tb.drawn(4)
	scale := tb.eval("+" + stage + ".dataset.scale").(float64)
	g := tb.piece()
	want := 0.25 * scale
	got := spacing(g, g.Rect.Dy()/3, 20, g.Rect.Dx()-20, int(want/2), int(want*1.6))
	if math.Abs(got-want) > 0.02*want {
		t.Errorf("grooves lie %.3f pixels apart, want %.3f", got, want)
	}
}

// drawnAlike lays the page's picture over the server's of the same view, in several
// scenes: two ways of drawing, one written in Go and one for the graphics card. Where
// there is metal they must be within 2 % of the range on average, colour by colour.
func drawnAlike(t *testing.T, b *tabs) {
	for _, c := range []struct {
		job, query string
		set        string // what is done on the page for it
	}{
		{"enamel-medal", "", ""},
		{"hobnail", "", ""}, // a 90° V, which looks back at the eye
		{"hobnail", "metal=gold&room=softbox&lamp=tungsten", choose("Metal", "gold") + choose("Room", "softbox") + choose("Light of the lamp", "tungsten")},
		{"barleycorn", "", ""},
		{"barleycorn", "tilt=9&toward=60&room=window&lamp=on", choose("Room", "window") + choose("Light of the lamp", "on") + slide("Leaned by", 9) + slide("toward", 60)},
		{"wavy-dial", "", ""}, // frosted ground
		{"wavy-dial", "land=grained&room=showcase&metal=blued%20steel&exposure=1", choose("Finish of the ground", "grained") + choose("Room", "showcase") + choose("Metal", "blued steel") +
			`(() => { const i = document.querySelector('[aria-label="Exposure, stops"]'); i.value = "1"; i.dispatchEvent(new Event("change", {bubbles: true})); })();`},
	} {
		s := newShop(t, c.job)
		tb := s.open(b.ctx, t, "#/"+c.job, 700, 440)
		tb.drawn(1)
		if c.set != "" {
			was := tb.text(stage + ".dataset.scene")
			tb.eval(c.set + "1")
			if strings.Contains(c.query, "metal") || strings.Contains(c.query, "room") {
				tb.until("the scene", fmt.Sprintf("%s.dataset.scene !== %q", stage, was))
			}
		}
		tb.eval("document.querySelector('.stage').focus()")
		for range 9 { // near enough that a pixel is finer than a flank
			tb.press("+", 0)
		}
		tb.drawn(16)
		tb.eval("document.querySelector('.stage .over').style.visibility = 'hidden'")
		raw, err := chromedp.Run(tb.ctx, chromedp.Screenshot(chromedp.CSS(".stage canvas")))
		if err != nil {
			t.Fatal(err)
		}
		here := colours(t, raw)
		scale := tb.eval("+" + stage + ".dataset.scale").(float64)
		w, h := here.Bounds().Dx(), here.Bounds().Dy()
		long := max(w, h)
		// The server's close-up is square; where the one has a middle pixel and the other
		// none, half a pixel is made up for.
		x := tb.eval("+"+stage+".dataset.x").(float64) + float64((long-w)%2)/2/scale
		y := tb.eval("+"+stage+".dataset.y").(float64) - float64((long-h)%2)/2/scale
		centre := fmt.Sprintf("%.9f,%.9f", x, y)
		url := fmt.Sprintf("/api/jobs/%s/picture.png?pixels=%d&centre=%s&across=%.6f&%s", c.job, long, centre, float64(long)/scale, c.query)
		there := colours(t, tb.fetch(url))
		tb.keep("alike-" + c.job + "-" + strings.NewReplacer("&", "-", "=", "-", "%20", "-").Replace(c.query))
		d := apart(here, there)
		t.Logf("%s %s: the page's picture and the server's differ by %.2f %% of the range", c.job, c.query, d/2.55)
		if d > 0.02*255 {
			t.Errorf("%s %s: the page's picture and the server's differ by %.2f %% of the range, want 2 %% at most", c.job, c.query, d/2.55)
		}
		if d < 0.02 {
			t.Errorf("the pictures are the same to %.3f levels: is the page showing the server's?", d)
		}
	}
}

func sceneChanged(t *testing.T, b *tabs) {
	s := newShop(t, "barleycorn")
	tb := s.open(b.ctx, t, "#/barleycorn", 900, 700)
	tb.drawn(1)
	tb.until("the words of the scene", `document.querySelector('select[aria-label="Finish of the ground"]').selectedOptions[0].textContent === "polished"`)
	tb.settled()
	before := tb.piece()
	tb.eval(choose("Room", "overcast") + choose("Metal", "copper") + "1")
	tb.until("the scene", stage+`.dataset.scene.startsWith("copper, ground polished; room overcast, no lamp")`)
	tb.settled()
	if d := difference(before, tb.piece()); d < 2 {
		t.Errorf("copper out of doors differs from silver in the workshop by %.2f levels", d)
	}
	link := `[...document.querySelectorAll("a")].find((a) => a.textContent === "picture to print").getAttribute("href")`
	if href := tb.text(link); !strings.Contains(href, "metal=copper") || !strings.Contains(href, "room=overcast") {
		t.Errorf("the picture to print is %s", href)
	}
	// A distance that is none is refused in words, and stays.
	tb.eval(`(() => { const i = document.querySelector('[aria-label="Distance of the eye, mm"]'); i.value = "near"; i.dispatchEvent(new Event("change", {bubbles: true})); })(), 1`)
	tb.until("the refusal", `document.querySelector(".told").textContent.includes("give 10 to 10000 mm") && document.querySelector('[aria-label="Distance of the eye, mm"]').value === "420"`)
	// Rocked by hand: the pointer leans the piece and the lamp stays.
	press := func(word string) {
		tb.eval(fmt.Sprintf(`[...document.querySelectorAll("button")].find((b) => b.textContent === %q).click(), 1`, word))
	}
	press("as the job has it")
	tb.until("the job's own scene", stage+`.dataset.scene.startsWith("silver, ground polished; room workshop")`)
	press("rock it by hand")
	r := tb.eval(`(() => { const r = document.querySelector(".stage").getBoundingClientRect(); return [r.left + r.width / 2, r.top + r.height / 2]; })()`).([]any)
	x, y := r[0].(float64), r[1].(float64)
	tb.settled()
	before = tb.piece()
	tb.do(chromedp.MouseEvent(chromedp.MousePressed, x, y, chromedp.ButtonType("left"), chromedp.ClickCount(1)),
		chromedp.MouseEvent(chromedp.MouseMoved, x+60, y, chromedp.ButtonType("left")),
		chromedp.MouseEvent(chromedp.MouseReleased, x+60, y, chromedp.ButtonType("left"), chromedp.ClickCount(1)))
	tb.until("the piece to lean", `parseFloat([...document.querySelectorAll("label.slide")].find((l) => l.textContent.startsWith("Leaned by")).querySelector("output").textContent) > 1`)
	if lamp := tb.text(`document.querySelector('.slide output').textContent`); lamp != "40°" {
		t.Errorf("rocking moved the lamp to %s", lamp)
	}
	tb.settled()
	if d := difference(before, tb.piece()); d < 1 {
		t.Errorf("leaning changed the picture by %.2f levels", d)
	}
	press("as the job has it")
	// The rose, and a lamp put where it is brightest.
	tb.eval(`document.querySelector("details.rose").open = true`)
	tb.until("the rose", `document.querySelector(".petals")`)
	tb.until("its sentences", `document.querySelector(".takes").textContent.includes("They flash with the lamp 5")`)
	tb.keep("rose")
	tb.eval(`(() => { const c = document.querySelector(".petals"), r = c.getBoundingClientRect(), k = r.width / 300; c.dispatchEvent(new MouseEvent("click", {bubbles: true, clientX: r.left + 150 * k, clientY: r.top + (150 - 116 / 2) * k})); })(), 1`)
	tb.until("the lamp to go there", `document.querySelector('.slide output').textContent === "90°" && document.querySelector(".petals").getAttribute("aria-label").includes("the lamp stands at 90 degrees, 45 degrees high")`)
}

// tabletRocked leans a tablet, upright and turned on its side: the work leans as the
// hand does, from how it was held at first.
func tabletRocked(t *testing.T, b *tabs) {
	s := newShop(t, "barleycorn")
	tb := s.open(b.ctx, t, "#/barleycorn", 820, 1180)
	hold := func(kind emulation.ScreenOrientationType, angle int64) {
		w, h := int64(820), int64(1180)
		if angle != 0 {
			w, h = h, w
		}
		tb.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
			_, err := cdp.Call(ctx, target, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{
				Width: w, Height: h, DeviceScaleFactor: 1, Mobile: true, ScreenOrientation: &emulation.ScreenOrientation{Type: kind, Angle: angle}})
			return err
		}))
	}
	lean := func(beta, gamma float64) {
		tb.eval(fmt.Sprintf(`dispatchEvent(new DeviceOrientationEvent("deviceorientation", {alpha: 0, beta: %v, gamma: %v})), 0`, beta, gamma))
	}
	told := func(tilt, toward string) {
		t.Helper()
		tb.until("a lean of "+tilt+" toward "+toward, fmt.Sprintf(`((l) => l[0] === %q && l[1] === %q)(["Leaned by", "toward"].map((w) => [...document.querySelectorAll("label.slide")].find((l) => l.textContent.startsWith(w)).querySelector("output").textContent))`, tilt, toward))
	}
	tb.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: true})
		return err
	}))
	hold(emulation.ScreenOrientationTypePortraitPrimary, 0)
	tb.eval(`window.before = true, location.reload(), 0`)
	tb.until("the page anew", `!window.before && `+stage)
	tb.drawn(1)
	// The page listens, or no longer does, some time after its words are drawn anew.
	tb.eval(`(() => {
		window.listening = 0;
		const add = window.addEventListener.bind(window), remove = window.removeEventListener.bind(window);
		window.addEventListener = (kind, ...rest) => { if (kind === "deviceorientation") listening++; add(kind, ...rest); };
		window.removeEventListener = (kind, ...rest) => { if (kind === "deviceorientation") listening--; remove(kind, ...rest); };
	})(), 0`)
	press := func(words string, listening int) {
		tb.click(words)
		tb.until("what is pressed", fmt.Sprintf(`listening === %d`, listening))
	}
	press("rock it with the tablet", 1)
	lean(30, 5)  // level
	lean(30, 15) // its right edge goes down
	told("10°", "0°")
	lean(22, 5) // its top goes down
	told("8°", "90°")
	press("hold it still", 0)
	lean(30, 15)
	told("8°", "90°")
	hold(emulation.ScreenOrientationTypeLandscapePrimary, 90) // its right edge is above now
	press("rock it with the tablet", 1)
	lean(5, 30)
	lean(5, 40)
	told("10°", "90°")
	lean(15, 30) // what was its top, and is on the left now, goes up
	told("10°", "0°")
}

// choose chooses a word in the selection of that label, slide moves a slider.
func choose(label, word string) string {
	return fmt.Sprintf(`(() => { const i = document.querySelector('select[aria-label=%q]'); i.value = %q; i.dispatchEvent(new Event("change", {bubbles: true})); })();`, label, word)
}

func slide(label string, to float64) string {
	return fmt.Sprintf(`(() => { const i = [...document.querySelectorAll("label.slide")].find((l) => l.textContent.startsWith(%q)).querySelector("input"); i.value = %v; i.dispatchEvent(new Event("input", {bubbles: true})); })();`, label, to)
}

func colours(t *testing.T, raw []byte) image.Image {
	t.Helper()
	im, err := png.Decode(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	return im
}

// apart is the mean of the absolute differences of two pictures in levels of 255,
// over the metal of the second. Its middle is laid on the middle of the first.
func apart(a, b image.Image) float64 {
	off := image.Pt((b.Bounds().Dx()-a.Bounds().Dx())/2, (b.Bounds().Dy()-a.Bounds().Dy())/2)
	var sum float64
	n := 0
	for y := range a.Bounds().Dy() {
		for x := range a.Bounds().Dx() {
			r, g, bl, _ := b.At(x+off.X, y+off.Y).RGBA()
			if r>>8 < 24 && g>>8 < 26 && bl>>8 < 28 {
				continue // what lies round the work, or as dark
			}
			r2, g2, b2, _ := a.At(x, y).RGBA()
			for _, d := range [3]int{int(r>>8) - int(r2>>8), int(g>>8) - int(g2>>8), int(bl>>8) - int(b2>>8)} {
				sum += float64(max(d, -d)) / 3
			}
			n++
		}
	}
	return sum / float64(max(n, 1))
}

func valueChanged(t *testing.T, b *tabs) {
	s := newShop(t, "barleycorn")
	original := s.file("barleycorn")
	tb := s.open(b.ctx, t, "#/barleycorn", 900, 420)
	tb.drawn(1)
	digest, before := tb.text(stage+".dataset.digest"), tb.piece()
	tb.field("depth")
	tb.write("0.09")
	tb.press("Enter", 0)
	tb.until("the sentence", `document.querySelector('[data-field="depth"]')?.textContent === "90 µm"`)
	tb.until("the piece", fmt.Sprintf("%s.dataset.digest !== %q", stage, digest))
	tb.until("the focus to come back", `document.activeElement.dataset.field === "depth"`)
	if want := strings.Replace(original, "depth: 0.045", "depth: 0.09", 1); s.file("barleycorn") != want {
		t.Errorf("the file says\n%s\nwant\n%s", s.file("barleycorn"), want)
	}
	tb.drawn(2)
	if d := difference(before, tb.piece()); d < 1 {
		t.Errorf("the picture changed by %.2f levels at twice the depth, want 1 or more", d)
	}
	// A stepper moves by whole teeth, one stay is one step back.
	tb.field("sequence[0].do[1].step")
	tb.press("ArrowDown", 0)
	tb.press("ArrowDown", 0)
	tb.until("whole teeth", `document.querySelector('.step .editor + .exact')?.textContent.includes("0.140 mm")`)
	tb.press("Enter", 0)
	until(t, "the file to hold 14 teeth", func() bool { return strings.Contains(s.file("barleycorn"), "step: 14 teeth     # the drawing") })
	// The session's past outlives a reload.
	tb.do(chromedp.Navigate("about:blank"), chromedp.Navigate(s.address+"/#/barleycorn"))
	tb.drawn(1)
	tb.until("what was changed", `document.querySelector('[data-field="depth"]')?.textContent === "90 µm"`)
	tb.press("z", 2)
	until(t, "one step back", func() bool { return strings.Contains(s.file("barleycorn"), "step: 0.156 mm") })
	tb.until("the page to follow", `document.querySelector('.saved').textContent === "saved"`)
	tb.press("z", 2)
	until(t, "the file as it was", func() bool { return s.file("barleycorn") == original })
	tb.until("the page to follow", `document.querySelector('[data-field="depth"]')?.textContent === "45 µm" && document.querySelector('.saved').textContent === "saved"`)
	tb.press("y", 2)
	until(t, "one step forth", func() bool { return strings.Contains(s.file("barleycorn"), "depth: 0.09") })
}

func valueBroken(t *testing.T, b *tabs) {
	s := newShop(t, "barleycorn")
	tb := s.open(b.ctx, t, "#/barleycorn", 900, 420)
	tb.drawn(1)
	drawn, before := tb.settled(), tb.piece()
	tb.field("touchpiece")
	tb.write("0.3 furlongs")
	tb.press("Enter", 0)
	wrong := `document.querySelector('[data-field="touchpiece"]')?.closest(".value-place")`
	tb.until("the fault at the value", wrong+`?.querySelector("[role=alert]")`)
	if text := tb.text(wrong + ".textContent"); !strings.Contains(text, "0.3 furlongs") || !strings.Contains(text, "mm") {
		t.Errorf("at the value stands %q, want what was written and a mend", text)
	}
	if v := tb.eval(`document.querySelector('[data-field="touchpiece"]').getAttribute("aria-invalid")`); v != "true" {
		t.Errorf("aria-invalid is %v, want true", v)
	}
	tb.keep("fault")
	now := tb.settled()
	_, was, _ := strings.Cut(drawn, " of ")
	if _, digest, _ := strings.Cut(now, " of "); digest != was {
		t.Errorf("drawn are %s, before %s; the piece must stay while the set-up is wrong", now, drawn)
	}
	tb.eval("window.scrollTo(0, 0), 0") // the fault's words may have moved the page
	tb.until("the canvas to lie on whole pixels", "Number.isInteger("+stage+".getBoundingClientRect().top)")
	// A machine that finds time for more layers refines the same piece.
	if d := difference(before, tb.piece()); now == drawn && d > 0.5 {
		t.Errorf("the piece changed by %.2f levels; it must stay while the set-up is wrong", d)
	}
	tb.field("touchpiece")
	tb.write("0.2")
	tb.press("Enter", 0)
	tb.until("the fault to go", `!document.querySelector(".value-place.wrong, .homeless")`)
	// A value of a part asks whether all jobs shall have it.
	tb.field("cutter.included")
	tb.write("120 deg")
	tb.press("Enter", 0)
	tb.until("120°", `document.querySelector('[data-field="cutter.included"]')?.textContent === "120°" || [...document.querySelectorAll(".question button")].some((b) => b.click() || true)`)
	tb.until("120°", `document.querySelector('[data-field="cutter.included"]')?.textContent === "120°"`)
	tb.forgive("409") // the browser logs the question of the server
}

func sequenceChanged(t *testing.T, b *tabs) {
	s := newShop(t, "hobnail", "barleycorn")
	tb := s.open(b.ctx, t, "#/barleycorn", 900, 700)
	tb.drawn(1)
	lines := `[...document.querySelectorAll(".step")].map((l) => l.dataset.path + " " + l.querySelector(".says").textContent)`
	n := tb.eval(lines + ".length").(float64)
	tb.eval(`document.querySelector('[data-add="sequence[0].do[3]"]').click()`)
	tb.until("the words to choose from", `document.querySelector(".adding button")`)
	tb.eval(`[...document.querySelectorAll(".adding button")].find((b) => b.textContent === "a note").click()`)
	tb.until("one more line", fmt.Sprintf("%s.length === %v", lines, n+1))
	if f := s.file("barleycorn"); !strings.Contains(f, "note: Look at the work") || !strings.Contains(f, "# the drawing says so") {
		t.Errorf("the file says\n%s\nwant the note, and the comments as they were", f)
	}
	handle := `document.querySelector('[data-path="sequence[0].do[3]"] .handle')`
	tb.eval(handle + ".click()")
	tb.until("the line's words", `document.querySelector(".acts")`)
	tb.eval(`[...document.querySelectorAll(".acts button")].find((b) => b.textContent === "move up").click()`)
	tb.until("the note one line up", `document.querySelector('[data-path="sequence[0].do[2]"]').textContent.includes("Look at the work")`)
	tb.eval(`document.querySelector('[data-path="sequence[0].do[2]"] .handle').click()`)
	tb.until("the line's words", `document.querySelector(".acts")`)
	tb.eval(`[...document.querySelectorAll(".acts button")].find((b) => b.textContent === "remove").click()`)
	tb.until("the note to go", fmt.Sprintf("%s.length === %v", lines, n))
}

func changedElsewhere(t *testing.T, b *tabs) {
	s := newShop(t, "barleycorn")
	one := s.open(b.ctx, t, "#/barleycorn", 700, 420)
	one.drawn(1)
	two := s.open(b.ctx, t, "#/barleycorn", 700, 420)
	two.until("the sentence", `document.querySelector('[data-field="depth"]')`)
	// The first tab hears late that its own change is made: what another hand does
	// meanwhile must not pass it by.
	one.eval(`(() => { const real = window.fetch; window.fetch = async (u, o) => { const r = await real(u, o); if (String(u).endsWith("/set")) await new Promise((go) => setTimeout(go, 2000)); return r; }; })(), 1`)
	one.field("depth")
	one.write("0.05")
	one.press("Enter", 0)
	two.until("the other tab to follow", `document.querySelector('[data-field="depth"]').textContent === "50 µm"`)
	text := strings.Replace(s.file("barleycorn"), "touchpiece: 0.3", "touchpiece: 0.25", 1)
	if err := os.WriteFile(filepath.Join(s.folder, "barleycorn.yaml"), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, tb := range []*tab{one, two} {
		tb.until("the text editor's change", `document.querySelector('[data-field="touchpiece"]')?.textContent === "0.25 mm"`)
		tb.forgive("422") // an editor empties the file before it writes it
	}
}

// backgroundLetsGo opens more tabs than a browser has connections to a server: those in
// the background let go of theirs, and catch up when they are looked at again.
func backgroundLetsGo(t *testing.T, b *tabs) {
	s := newShop(t, "barleycorn")
	const sentence = `document.querySelector('[data-field="depth"]')`
	seen := func(tb *tab, hidden bool) {
		tb.eval(fmt.Sprintf(`Object.defineProperty(document, "hidden", {configurable: true, get: () => %v}), document.dispatchEvent(new Event("visibilitychange")), 0`, hidden))
	}
	var all []*tab
	for range 8 {
		tb := s.open(b.ctx, t, "#/barleycorn", 700, 420)
		tb.until("the sentence", sentence)
		seen(tb, true)
		all = append(all, tb)
	}
	first, last := all[0], all[7]
	seen(last, false)
	last.field("depth")
	last.write("0.05")
	last.press("Enter", 0)
	last.until("the change", sentence+`.textContent === "50 µm"`)
	if text := first.text(sentence + `.textContent`); text == "50 µm" {
		t.Error("a tab in the background still listens")
	}
	seen(first, false)
	first.until("the first tab to catch up", sentence+`.textContent === "50 µm"`)
}

// changedAtOnce changes a value that the page does not know to be changed on disk:
// nothing is told of it here.
func changedAtOnce(t *testing.T, b *tabs) {
	s := newShop(t, "barleycorn")
	s.stop()
	s.look = time.Hour
	s.serve(0)
	tb := s.open(b.ctx, t, "#/barleycorn", 700, 420)
	tb.until("the sentence", `document.querySelector('[data-field="depth"]')`)
	text := strings.Replace(s.file("barleycorn"), "touchpiece: 0.3", "touchpiece: 0.25", 1)
	if err := os.WriteFile(filepath.Join(s.folder, "barleycorn.yaml"), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	tb.field("depth")
	tb.write("0.05")
	tb.press("Enter", 0)
	tb.until("the question", `document.querySelector("#conflict-title")`)
	if s.file("barleycorn") != text {
		t.Error("the file was written over before anyone was asked")
	}
	if shown := tb.text(`document.querySelector(".question .source").textContent`); !strings.Contains(shown, "touchpiece: 0.25") {
		t.Errorf("of the file on disk it shows %q, want the line that was changed", shown)
	}
	tb.eval(`[...document.querySelectorAll(".question button")].find((b) => b.textContent.startsWith("Make my change")).click()`)
	want := strings.Replace(text, "depth: 0.045", "depth: 0.05", 1)
	until(t, "both changes in the file", func() bool { return s.file("barleycorn") == want })
	tb.forgive("409")
}

func serverStops(t *testing.T, b *tabs) {
	s := newShop(t, "barleycorn")
	tb := s.open(b.ctx, t, "#/barleycorn", 700, 420)
	tb.until("the sentence", `document.querySelector('[data-field="depth"]')`)
	var port int
	fmt.Sscanf(s.address, "http://127.0.0.1:%d", &port)
	s.stop()
	tb.field("depth")
	tb.write("0.06")
	tb.press("Enter", 0)
	tb.until("the page to say that it is not saved", `document.querySelector(".saved.waiting")`)
	s.serve(port)
	until(t, "the change to be saved", func() bool { return strings.Contains(s.file("barleycorn"), "depth: 0.06") })
	tb.until("the page to say so", `document.querySelector(".saved").textContent === "saved"`)
	tb.forgive("ERR_")
}
