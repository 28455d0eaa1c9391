package web_test

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	_ "modernc.org/sqlite" // to hold the log as another program would

	"brightcut/bench"
)

// The count is tested as someone at the engine meets it: keys, pedal, finger,
// reloads, a network that drops, a disk that does not take it.
func TestCountInBrowser(t *testing.T) {
	inBrowser(t, []browserTest{
		{"counts by keys through a reload, and all are in the log", countsKept, plain},
		{"one stroke is one count", strokesOnce, plain},
		{"a count is taken back by holding only", undoHeld, slow},
		{"two strokes for one are asked about", doubleAsked, slow},
		{"skips, notes, widths and a pause are kept", elseKept, slow},
		{"a pedal teaches its key", pedalTaught, slow},
		{"what changes is said, each count is heard, the screen stays awake", heardAndAwake, slow},
		{"after a break the dials are asked for", breakAsked, slow},
		{"the network drops and comes back", networkDrops, slow},
		{"two screens count one cut once", screensAgree, slow},
		{"what two screens tell differently is asked", storiesAsked, slow},
		{"the dials tell the place", dialsTell, slow},
		{"a disk that does not take it is said at once", notKept, slow},
		{"a run is finished by holding", runFinished, slow},
		{"accessible at every width", countAccessible, slow},
	})
}

// logged is a line of a run's log as the API tells it.
type logged struct {
	ID      string
	Kind    string
	Cut     int
	Text    string
	Device  string
	WidthUM float64 `json:"width_um"`
	Reading float64
}

// log returns the lines of a run of one kind.
func (s *shop) log(run, kind string) []logged {
	s.t.Helper()
	answer, err := http.Get(s.address + "/api/runs/" + run + "/events?after=0")
	if err != nil {
		s.t.Fatal(err)
	}
	defer answer.Body.Close()
	var all struct{ Events []logged }
	raw, _ := io.ReadAll(answer.Body)
	if err := json.Unmarshal(raw, &all); err != nil || answer.StatusCode != http.StatusOK {
		s.t.Fatalf("the log: %s %v: %.300s", answer.Status, err, raw)
	}
	return slices.DeleteFunc(all.Events, func(e logged) bool { return e.Kind != kind })
}

// counted wants the log to hold the cuts from 1 on, each counted once, in order.
func (s *shop) counted(run string, n int) {
	s.t.Helper()
	done := s.log(run, "done")
	if len(done) != n {
		s.t.Fatalf("the log holds %d counts, want %d", len(done), n)
	}
	for i, e := range done {
		if e.Cut != i+1 {
			s.t.Fatalf("count %d of the log is of cut %d", i+1, e.Cut)
		}
	}
}

// start begins a run of a job.
func (s *shop) start(job, id string) string {
	s.t.Helper()
	answer, err := http.Post(s.address+"/api/runs", "application/json", bytes.NewBufferString(fmt.Sprintf(`{"id": %q, "job": %q}`, id, job)))
	if err != nil {
		s.t.Fatal(err)
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusCreated {
		raw, _ := io.ReadAll(answer.Body)
		s.t.Fatalf("start a run of %s: %s %s", job, answer.Status, raw)
	}
	return id
}

// long makes the practice plate a job of 420 cuts.
func (s *shop) long() {
	s.t.Helper()
	text := strings.Replace(s.file("parallel-lines"), "repeat: 111", "repeat: 420", 1)
	text = strings.Replace(text, "step: 0.25 mm", "step: 0.06 mm", 1)
	text = strings.Replace(text, "slide: -13.75", "slide: -12.6", 1)
	if err := os.WriteFile(filepath.Join(s.folder, "parallel-lines.yaml"), []byte(text), 0o644); err != nil {
		s.t.Fatal(err)
	}
}

// face opens a run in a tab, where strokes follow one another faster than a hand's.
func (s *shop) face(b context.Context, t *testing.T, job, run string, w, h int64) *tab {
	t.Helper()
	tb := s.open(b, t, "favicon.ico", w, h)
	t.Cleanup(func() { tb.forgive("favicon") }) // there is none
	tb.eval(`localStorage.setItem("count-habits", JSON.stringify({twice: 0.001})), 0`)
	tb.do(chromedp.Navigate(s.address + "/#/" + job + "/count/" + run))
	tb.until("the count", `document.querySelector(".counts, .face.ended")`)
	return tb
}

// reload loads the page anew, and waits for the count.
func (tb *tab) reload() {
	tb.t.Helper()
	tb.eval(`window.before = true, location.reload(), 0`)
	tb.until("the count anew", `!window.before && document.querySelector(".counts, .face.ended")`)
}

// panel waits for a panel with the focus in it.
func (tb *tab) panel() {
	tb.t.Helper()
	tb.until("the panel", `document.activeElement.matches(".panel input, .panel select")`)
}

// next waits for the number of the next cut.
func (tb *tab) next(n int) {
	tb.t.Helper()
	tb.until(fmt.Sprintf("cut %d to be next", n), fmt.Sprintf(`document.querySelector(".n")?.textContent === "%d"`, n))
}

// strokes presses a key so many times, each when the one before is on the screen.
func (tb *tab) strokes(key string, from, to int) {
	tb.t.Helper()
	for n := from; n <= to; n++ {
		tb.press(key, 0)
		tb.next(n + 1)
	}
}

func (tb *tab) click(words string) {
	tb.t.Helper()
	tb.until("the words “"+words+"”", fmt.Sprintf(`((b) => b && (b.click(), true))([...document.querySelectorAll("button, a")].find((b) => b.offsetParent !== null && !b.disabled && b.textContent.startsWith(%q)))`, words))
}

// key sends one half of a stroke of a key, or its auto-repeat.
func (tb *tab) key(kind input.DispatchKeyEventType, key, code string, vk int64, repeat bool) {
	tb.t.Helper()
	tb.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, input.DispatchKeyEvent, input.DispatchKeyEventParams{
			Type: kind, Key: key, Code: code, WindowsVirtualKeyCode: vk, AutoRepeat: &repeat})
		return err
	}))
}

// hold presses a key and lets it go after a while.
func (tb *tab) hold(key, code string, vk int64, long time.Duration) {
	tb.t.Helper()
	tb.key(input.DispatchKeyEventTypeRawKeyDown, key, code, vk, false)
	time.Sleep(long)
	tb.key(input.DispatchKeyEventTypeKeyUp, key, code, vk, false)
}

const asked = `document.querySelector(".asked h2")?.textContent ?? ""`

func countsKept(t *testing.T, b *tabs) {
	total, half := 40, 17
	if withSlow() {
		total, half = 400, 187
	}
	s := newShop(t, "parallel-lines")
	s.long()
	tb := s.open(b.ctx, t, "#/parallel-lines/sheet", 1024, 768)
	tb.click("Count at the engine")
	tb.click("Start a run")
	tb.next(1)
	if !strings.Contains(tb.text(`document.querySelector(".where").textContent`), "kept on the workshop’s disk") {
		t.Error("it does not say where the count is kept")
	}
	tb.eval(`localStorage.setItem("count-habits", JSON.stringify({twice: 0.001})), 0`)
	tb.reload()
	tb.next(1)
	run := tb.text(`location.hash.split("/")[3]`)
	keys := []string{" ", "Enter", "PageDown"}
	for n := 1; n <= half; n++ {
		tb.strokes(keys[n%3], n, n)
	}
	tb.reload()
	tb.until("the question of the dials", asked+`.includes("do the dials read")`)
	if text := tb.text(`document.querySelector(".asked").textContent`); !strings.Contains(text, fmt.Sprintf("After cut %d", half)) {
		t.Errorf("it asks %q, want the last cut", text)
	}
	tb.press("y", 0)
	tb.until("the question to go", `!document.querySelector(".asked")`)
	for n := half + 1; n <= total; n++ {
		tb.strokes(keys[n%3], n, n)
	}
	s.counted(run, total)
	// It can be gone on with from the shelf.
	tb.eval(`location.hash = "#/", 0`)
	tb.until("the run on the shelf", fmt.Sprintf(`document.querySelector(".under-way")?.textContent.includes("cut %d of 420 is next")`, total+1))
}

func strokesOnce(t *testing.T, b *tabs) {
	s := newShop(t, "parallel-lines")
	run := s.start("parallel-lines", "once")
	tb := s.face(b.ctx, t, "parallel-lines", run, 1024, 768)
	// A held key repeats itself.
	for i := range 6 {
		tb.key(input.DispatchKeyEventTypeRawKeyDown, " ", "Space", 32, i > 0)
	}
	tb.key(input.DispatchKeyEventTypeKeyUp, " ", "Space", 32, false)
	time.Sleep(500 * time.Millisecond) // what should not be counted needs time to be
	s.counted(run, 1)
	tb.next(2)
	// The button that has the focus is not clicked by the key as well.
	tb.press("Enter", 0)
	tb.next(3)
	time.Sleep(50 * time.Millisecond)
	tb.do(chromedp.MouseClickXY(400, 300))
	tb.next(4)
	tb.click("Cut 4 is made")
	tb.next(5)
	// Neither the words below nor a text being written count.
	tb.click("Note")
	tb.until("the note", `document.activeElement.matches(".panel input")`)
	tb.press(" ", 0)
	tb.press("Escape", 0)
	tb.until("the focus where the pedal counts", `document.activeElement.matches(".counts")`)
	tb.press(" ", 0)
	tb.next(6)
	time.Sleep(300 * time.Millisecond)
	s.counted(run, 5)
}

func undoHeld(t *testing.T, b *tabs) {
	s := newShop(t, "parallel-lines")
	run := s.start("parallel-lines", "undo")
	tb := s.face(b.ctx, t, "parallel-lines", run, 1024, 768)
	tb.strokes(" ", 1, 3)
	tb.hold("Backspace", "Backspace", 8, 150*time.Millisecond)
	tb.until("what to do", `document.querySelector(".told").textContent.includes("hold Backspace")`)
	if n := len(s.log(run, "undone")); n != 0 {
		t.Fatal("a short press took a count back")
	}
	tb.hold("Backspace", "Backspace", 8, time.Second)
	tb.next(3)
	tb.hold("PageUp", "PageUp", 33, time.Second)
	tb.next(2)
	if n := len(s.log(run, "undone")); n != 2 {
		t.Errorf("%d counts were taken back, want 2", n)
	}
	// The button, by pointer and by key.
	box := tb.eval(`(({x, y, width, height}) => [x + width / 2, y + height / 2])(document.querySelector(".hold").getBoundingClientRect())`).([]any)
	mouse := func(kind input.DispatchMouseEventType) {
		tb.do(chromedp.MouseEvent(kind, box[0].(float64), box[1].(float64), chromedp.ButtonLeft))
	}
	mouse(chromedp.MousePressed)
	mouse(chromedp.MouseReleased)
	time.Sleep(100 * time.Millisecond)
	tb.next(2)
	mouse(chromedp.MousePressed)
	tb.next(1)
	mouse(chromedp.MouseReleased)
	// All taken back, there is nothing to hold.
	tb.until("nothing to take back", `document.querySelector(".hold").disabled`)
	tb.press(" ", 0)
	tb.next(2)
	tb.eval(`document.querySelector(".hold").focus()`)
	tb.hold(" ", "Space", 32, time.Second)
	tb.next(1)
}

func doubleAsked(t *testing.T, b *tabs) {
	s := newShop(t, "parallel-lines")
	run := s.start("parallel-lines", "twice")
	tb := s.face(b.ctx, t, "parallel-lines", run, 1024, 768)
	tb.eval(`localStorage.setItem("count-habits", JSON.stringify({twice: 0.6})), 0`)
	tb.reload()
	tb.next(1)
	pair := func() {
		tb.press(" ", 0)
		tb.press(" ", 0)
		tb.until("the question", asked+`.startsWith("Two strokes in 0.")`)
	}
	pair()
	tb.next(2)
	tb.press("n", 0)
	tb.until("the question to go", `!document.querySelector(".asked")`)
	time.Sleep(650 * time.Millisecond)
	pair()
	tb.next(3)
	tb.press("y", 0)
	tb.next(4)
	time.Sleep(650 * time.Millisecond)
	pair() // of which no answer is a no
	tb.next(5)
	time.Sleep(650 * time.Millisecond)
	tb.press(" ", 0)
	tb.next(6)
	tb.until("the question to go", `!document.querySelector(".asked")`)
	s.counted(run, 5)
}

func elseKept(t *testing.T, b *tabs) {
	s := newShop(t, "barleycorn")
	run := s.start("barleycorn", "else")
	tb := s.face(b.ctx, t, "barleycorn", run, 1280, 800)
	tb.strokes(" ", 1, 2)
	tb.until("the sheet's words", `document.querySelector(".action").textContent.includes("16 teeth")`)
	tb.click("Skip cut 3")
	tb.panel()
	tb.press("Enter", 0)
	time.Sleep(50 * time.Millisecond)
	if len(s.log(run, "skipped")) != 0 {
		t.Error("a cut was skipped without a reason")
	}
	tb.write("a window")
	tb.press("Enter", 0)
	tb.next(4)
	if e := s.log(run, "skipped"); len(e) != 1 || e[0].Cut != 3 || e[0].Text != "a window" {
		t.Errorf("the log has %+v, want cut 3 skipped, a window", e)
	}
	tb.click("Note")
	tb.panel()
	tb.write("new chip brush")
	tb.press("Enter", 0)
	until(t, "the note in the log", func() bool { e := s.log(run, "note"); return len(e) == 1 && e[0].Text == "new chip brush" })
	tb.click("Width measured")
	tb.panel()
	tb.until("the width", `document.querySelectorAll(".panel input").length === 3`)
	tb.eval(`document.querySelectorAll(".panel input")[2].focus()`)
	tb.write("193.5")
	tb.press("Enter", 0)
	until(t, "the width in the log", func() bool { e := s.log(run, "measured"); return len(e) == 1 && e[0].WidthUM == 193.5 && e[0].Cut == 3 })
	tb.press("Escape", 0)
	tb.click("Pause")
	tb.until("the pause", `document.querySelector(".number").textContent.startsWith("Pause")`)
	tb.strokes("PageDown", 4, 4)
	tb.until("the pause to end", `document.querySelector(".number").textContent.startsWith("Next")`)
	// A cut left for later is cut after all.
	tb.click("The run")
	tb.click("It is cut now")
	until(t, "cut 3 in the log", func() bool { return slices.ContainsFunc(s.log(run, "done"), func(e logged) bool { return e.Cut == 3 }) })
	tb.next(5)
}

func pedalTaught(t *testing.T, b *tabs) {
	s := newShop(t, "parallel-lines")
	run := s.start("parallel-lines", "pedal")
	tb := s.face(b.ctx, t, "parallel-lines", run, 1280, 800)
	tb.press("b", 0)
	tb.click("Pedal, sound, screen")
	tb.click("Teach another key")
	tb.until("the pedal to be asked for", `document.querySelector(".panel").textContent.includes("Press the pedal now")`)
	tb.press("b", 0)
	tb.until("the key to be told", `document.querySelector(".panel kbd")?.textContent === "b"`)
	tb.next(1)
	tb.press("b", 0)
	tb.next(2)
	tb.reload() // it is remembered
	tb.until("the question of the dials", asked+`.includes("do the dials read")`)
	tb.press("b", 0) // and is no answer
	tb.until("the stroke to be held", `document.querySelector(".asked").textContent.includes("One stroke was made meanwhile")`)
	tb.click("Yes, and count that stroke")
	tb.next(3)
	s.counted(run, 2)
}

func networkDrops(t *testing.T, b *tabs) {
	s := newShop(t, "parallel-lines")
	run := s.start("parallel-lines", "away")
	tb := s.face(b.ctx, t, "parallel-lines", run, 1024, 768)
	tb.until("the shell to be kept", `navigator.serviceWorker?.ready.then(() => caches.match("/assets/app.js"))`)
	tb.reload() // as one that the worker serves
	tb.next(1)
	tb.strokes(" ", 1, 3)
	var port int
	fmt.Sscanf(s.address, "http://127.0.0.1:%d", &port)
	s.stop()
	tb.strokes(" ", 4, 20)
	tb.until("what waits", `document.querySelector(".kept-here")?.textContent.includes("17 entries wait on")`)
	tb.hold("Backspace", "Backspace", 8, time.Second)
	tb.next(20)
	tb.reload() // without a network
	tb.until("the question of the dials", asked+`.includes("do the dials read")`)
	tb.press("y", 0)
	tb.next(20)
	tb.strokes(" ", 20, 33)
	tb.keep("count-away")
	s.serve(port)
	tb.until("all to be kept", `document.querySelector(".kept")?.textContent.includes("kept on the workshop’s disk")`)
	tb.next(34)
	done := s.log(run, "done")
	if len(done) != 34 || len(s.log(run, "undone")) != 1 {
		t.Errorf("the log holds %d counts and %d taken back, want 34 and 1", len(done), len(s.log(run, "undone")))
	}
	tb.strokes(" ", 34, 35)
	tb.forgive("ERR_")
}

// screen is a tab of another browser profile, as another device has.
func screen(t *testing.T, b *tabs) context.Context {
	t.Helper()
	ctx, cancel := chromedp.NewContext(b.ctx, chromedp.WithNewBrowserContext())
	t.Cleanup(cancel)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	return ctx
}

func screensAgree(t *testing.T, b *tabs) {
	s := newShop(t, "parallel-lines")
	run := s.start("parallel-lines", "both")
	one := s.face(b.ctx, t, "parallel-lines", run, 1024, 768)
	two := s.face(screen(t, b), t, "parallel-lines", run, 1024, 768)
	one.strokes(" ", 1, 2)
	two.next(3) // it follows
	// Both count cut 3, neither knows of the other.
	var port int
	fmt.Sscanf(s.address, "http://127.0.0.1:%d", &port)
	s.stop()
	one.strokes(" ", 3, 5)
	two.strokes(" ", 3, 8)
	s.serve(port)
	for _, tb := range []*tab{one, two} {
		tb.next(9)
		tb.until("all to be kept", `document.querySelector(".kept") && !document.querySelector(".asked")`)
		tb.forgive("ERR_")
	}
	cuts := map[int]int{}
	for _, e := range s.log(run, "done") {
		cuts[e.Cut]++
	}
	if state := stateOf(t, s, run); state.Next != 9 || state.Counted != 8 || len(cuts) != 8 {
		t.Errorf("next is %d, %d counted of %d cuts, want 9, 8 of 8", state.Next, state.Counted, len(cuts))
	}
}

func stateOf(t *testing.T, s *shop, run string) bench.State {
	t.Helper()
	log, err := bench.Open(s.folder)
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	r, err := log.Run(t.Context(), run)
	if err != nil {
		t.Fatal(err)
	}
	return r.State
}

func storiesAsked(t *testing.T, b *tabs) {
	s := newShop(t, "parallel-lines")
	run := s.start("parallel-lines", "stories")
	one := s.face(b.ctx, t, "parallel-lines", run, 1024, 768)
	two := s.face(screen(t, b), t, "parallel-lines", run, 1024, 768)
	one.strokes(" ", 1, 4)
	two.next(5)
	// Two goes on without a network, while one takes two counts back.
	two.eval(`window.fetch = () => Promise.reject(new TypeError("no network")), 0`)
	two.strokes(" ", 5, 6)
	for n := 4; n >= 3; n-- {
		one.hold("Backspace", "Backspace", 8, time.Second)
		one.next(n)
	}
	two.reload()
	two.until("the two stories", asked+`.startsWith("Two stories of cut 5")`)
	one.until("the two stories, here too", asked+`.startsWith("Two stories of cut 5")`)
	one.keep("count-conflict")
	two.press("y", 0)
	one.strokes(" ", 3, 3) // meanwhile it can be counted
	one.click("Leave the count as it stands")
	for _, tb := range []*tab{one, two} {
		tb.until("the question to go", `!document.querySelector(".conflict")`)
		tb.next(4)
	}
	if state := stateOf(t, s, run); state.Next != 4 || len(state.Open) != 0 {
		t.Errorf("next is %d with %d questions open, want 4 and none", state.Next, len(state.Open))
	}
}

func dialsTell(t *testing.T, b *tabs) {
	s := newShop(t, "barleycorn")
	run := s.start("barleycorn", "dials")
	tb := s.face(b.ctx, t, "barleycorn", run, 1280, 800)
	tb.strokes(" ", 1, 12)
	tb.click("Where am I?")
	tb.until("the question", asked+`.includes("do the dials read")`)
	// The slide stood at -1272 for cut 1 and moves 16 teeth a cut; cut 12 is at -1096.
	if text := tb.text(`document.querySelector(".asked").textContent`); !strings.Contains(text, "After cut 12") || !strings.Contains(text, "−1096 teeth") {
		t.Errorf("it asks %q, want what the dials read after cut 12", text)
	}
	tb.keep("count-dials")
	tb.press("n", 0)
	tb.until("the dials", `document.querySelector(".read input")`)
	enter := func(slide, shift string) {
		tb.until("the dials", `document.querySelectorAll(".read input").length === 2`)
		for i, v := range []string{slide, shift} {
			tb.eval(fmt.Sprintf(`document.querySelectorAll(".read input")[%d].focus()`, i))
			tb.write(v)
			if v == "" {
				tb.press("Delete", 0)
			}
		}
		tb.click("Where can that be?")
	}
	// The phase alone is that of every other cut: many places.
	enter("", "75")
	tb.until("many places", `document.querySelectorAll(".places li").length > 10`)
	// The slide tells: it stands where cut 10 has it.
	enter("−1128", "75")
	tb.until("the places of cut 10", `[...document.querySelectorAll(".places li")].some((l) => /10/.test(l.textContent)) && document.querySelectorAll(".places li").length <= 3`)
	tb.keep("count-places")
	tb.click("Go to cut 10")
	tb.next(10)
	if e := s.log(run, "placed"); len(e) != 1 || e[0].Cut != 10 {
		t.Errorf("the log has %+v, want cut 10 placed", e)
	}
	tb.until("nothing to take back", `document.querySelector(".hold").disabled`)
	tb.until("the question to be gone", `!document.querySelector(".read") && !document.activeElement.matches("input")`)
	tb.strokes(" ", 10, 11)
	// What no dial shows is said.
	tb.click("Where am I?")
	tb.press("n", 0)
	enter("half", "")
	tb.until("the mend", `document.querySelector(".read [role=alert]")?.textContent.includes("no whole number")`)
}

func notKept(t *testing.T, b *tabs) {
	s := newShop(t, "parallel-lines")
	run := s.start("parallel-lines", "full")
	tb := s.face(b.ctx, t, "parallel-lines", run, 1024, 768)
	tb.strokes(" ", 1, 2)
	// Another program holds the log.
	db, err := sql.Open("sqlite", filepath.Join(s.folder, bench.FileName))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if _, err := db.Exec("BEGIN IMMEDIATE"); err != nil {
		t.Fatal(err)
	}
	tb.press(" ", 0)
	tb.until("a calm word meanwhile", `document.querySelector(".counts.keeping")`)
	tb.until("the trouble", asked+`.startsWith("Not counted")`)
	tb.keep("count-not-kept")
	if size := tb.eval(`parseFloat(getComputedStyle(document.querySelector(".asked h2")).fontSize)`).(float64); size < 32 {
		t.Errorf("it is said in letters of %v pixels", size)
	}
	tb.next(3)
	if _, err := db.Exec("ROLLBACK"); err != nil {
		t.Fatal(err)
	}
	s.counted(run, 2)
	tb.strokes(" ", 3, 4)
	tb.until("the trouble to go", `!document.querySelector(".asked")`)
	s.counted(run, 4)
	tb.forgive("503")
}

func runFinished(t *testing.T, b *tabs) {
	s := newShop(t, "parallel-lines")
	text := strings.Replace(s.file("parallel-lines"), "repeat: 111", "repeat: 3", 1)
	if err := os.WriteFile(filepath.Join(s.folder, "parallel-lines.yaml"), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	run := s.start("parallel-lines", "end")
	tb := s.face(b.ctx, t, "parallel-lines", run, 1024, 768)
	tb.strokes(" ", 1, 2)
	tb.press(" ", 0)
	tb.until("the end", `document.querySelector(".face.ended")?.textContent.includes("All 3 cuts are counted")`)
	tb.press(" ", 0) // counts nothing more
	tb.click("The run")
	tb.until("the words of the end", `[...document.querySelectorAll(".hold")].find((b) => b.textContent === "Finish the run")`)
	tb.eval(`[...document.querySelectorAll(".hold")].find((b) => b.textContent === "Finish the run").focus()`)
	tb.hold(" ", "Space", 32, time.Second)
	tb.until("the end to be told", `document.querySelector(".face.ended").textContent.includes("This run is finished")`)
	s.counted(run, 3)
	if n := len(s.log(run, "finished")); n != 1 {
		t.Errorf("the log says %d times that it is finished", n)
	}
	tb.press(" ", 0)
	s.counted(run, 3)
	tb.click("The run")
	tb.click("Take the run up again")
	tb.until("it to be open", `document.querySelector(".face.ended").textContent.includes("All 3 cuts")`)
}

func countAccessible(t *testing.T, b *tabs) {
	axe := readAxe(t)
	s := newShop(t, "barleycorn", "lantern-pendant")
	run := s.start("barleycorn", "seen")
	many := s.start("lantern-pendant", "many")
	s.face(b.ctx, t, "barleycorn", run, 1440, 900).strokes(" ", 1, 12)
	for _, size := range [][2]int64{{1440, 900}, {390, 844}, {1024, 768}, {768, 1024}, {844, 390}, {2560, 1440}, {320, 640}} {
		// A tab of its own, closed behind it: a browser keeps six connections to a
		// server, and every open page holds one for what it hears.
		t.Run(fmt.Sprintf("%dx%d", size[0], size[1]), func(t *testing.T) {
			tb := s.face(b.ctx, t, "barleycorn", run, size[0], size[1])
			tb.eval(`location.hash = "#/barleycorn/count", 0`)
			tb.until("the runs", `document.querySelector(".run-line")`)
			for _, view := range []struct{ name, place, ready, then string }{
				{"count", "#/barleycorn/count/" + run, `document.querySelector(".so-far")`, ""},
				{"count-many", "#/lantern-pendant/count/" + many, `document.querySelector(".so-far")`, ""},
				{"count-tools", "#/barleycorn/count/" + run, `document.querySelector(".so-far")`, "Width measured"},
				{"count-start", "#/barleycorn/count", `document.querySelector(".run-line")`, ""},
			} {
				tb.eval(fmt.Sprintf("location.hash = %q", view.place))
				tb.until("the view "+view.name, fmt.Sprintf("location.hash === %q && %s", view.place, view.ready))
				if strings.HasSuffix(view.place, run) {
					tb.until("the question of the dials", asked+`.includes("do the dials read")`)
					if view.then == "" {
						tb.keep(fmt.Sprintf("count-question-%dx%d", size[0], size[1]))
						tb.audit(axe, "count-question", size)
					}
					tb.press("y", 0)
					tb.until("the question to go", `!document.querySelector(".asked")`)
				}
				if view.then != "" {
					tb.eval(`[...document.querySelectorAll(".more-words")].filter((b) => b.offsetParent && b.getAttribute("aria-expanded") === "false").forEach((b) => b.click())`)
					tb.click(view.then)
					tb.until("the panel", `document.querySelector(".panel")`)
				}
				tb.keep(fmt.Sprintf("%s-%dx%d", view.name, size[0], size[1]))
				tb.audit(axe, view.name, size)
				if view.name == "count" {
					// Read at two metres: a fifth of the smaller side for the number, a
					// twentieth for the action.
					least := float64(min(size[0], size[1]))
					for what, share := range map[string]float64{".n > div": 0.2, ".action > div": 0.05} {
						if px := tb.eval(fmt.Sprintf(`parseFloat(getComputedStyle(document.querySelector(%q)).fontSize)`, what)).(float64); px < share*least {
							t.Errorf("%dx%d: %s is %.0f pixels large, want %.0f or more", size[0], size[1], what, px, share*least)
						}
					}
					// All that is needed is in sight.
					for _, what := range []string{".n", ".action", ".readings", ".counts", ".line-through"} {
						if in := tb.eval(fmt.Sprintf(`(({top, bottom, height}) => height > 0 && top >= -1 && bottom <= innerHeight + 1)(document.querySelector(%q).getBoundingClientRect())`, what)); in != true {
							t.Errorf("%dx%d: %s is not in sight", size[0], size[1], what)
						}
					}
				}
				if view.then != "" {
					tb.press("Escape", 0)
				}
			}
		})
	}
}
