package web_test

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/png"
	"io"
	"io/fs"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"brightcut/examples"
	"brightcut/web"
)

// The page is tested in a real browser, Debian's chromium. Without one the tests
// are left out, but where CI is set a missing browser fails.
func chromium(t testing.TB) string {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	if os.Getenv("CI") == "true" {
		t.Fatal("no browser: install chromium (apt-get install chromium)")
	}
	t.Skip("no browser was found; install chromium to test the page")
	return ""
}

// browser is one browser for all tests of the page; each test has tabs of its own.
func browser(t testing.TB) context.Context {
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(chromium(t)),
		chromedp.Flag("no-sandbox", true), // as root in CI
		chromedp.Flag("use-angle", "swiftshader"), chromedp.Flag("enable-unsafe-swiftshader", true),
		chromedp.Flag("lang", "en-GB"))
	ctx, cancel := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("start the browser: %v", err)
	}
	return ctx
}

// pace is the run that a test belongs to.
type pace bool

const (
	plain pace = false // every run: it keeps within three minutes
	slow  pace = true  // the whole run only, with BRIGHTCUT_SLOW=1, which the project's own check makes
)

func withSlow() bool { return os.Getenv("BRIGHTCUT_SLOW") != "" }

// may skips a test that does not belong to this run.
func (p pace) may(t *testing.T) {
	t.Helper()
	if p == slow && !withSlow() {
		t.Skip("slow: done with BRIGHTCUT_SLOW=1")
	}
}

type browserTest struct {
	name string
	test func(*testing.T, *tabs)
	pace pace
}

// inBrowser makes tests in one browser, each in tabs of its own.
func inBrowser(t *testing.T, tests []browserTest) {
	b := browser(t)
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			test.pace.may(t)
			test.test(t, &tabs{b})
		})
	}
}

// shop is a workshop served for a test.
type shop struct {
	t       testing.TB
	folder  string
	address string
	look    time.Duration // between two looks at the folder
	stop    func()
}

// newShop copies the parts of the example workshop and the named jobs.
func newShop(t testing.TB, jobs ...string) *shop {
	s := &shop{t: t, folder: t.TempDir(), look: 50 * time.Millisecond}
	err := fs.WalkDir(examples.Workshop, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		to := filepath.Join(s.folder, path)
		if d.IsDir() {
			return os.MkdirAll(to, 0o755)
		}
		if !strings.Contains(path, "/") && !slices.Contains(jobs, strings.TrimSuffix(path, ".yaml")) {
			return nil
		}
		text, err := fs.ReadFile(examples.Workshop, path)
		if err != nil {
			return err
		}
		return os.WriteFile(to, text, 0o644)
	})
	if err != nil {
		t.Fatal(err)
	}
	s.serve(0)
	t.Cleanup(func() { s.stop() })
	return s
}

func (s *shop) serve(port int) {
	s.t.Helper()
	server, err := web.New(s.folder, web.Options{Look: s.look})
	if err != nil {
		s.t.Fatal(err)
	}
	listener, err := web.Listen(port)
	if err != nil {
		s.t.Fatal(err)
	}
	s.address = "http://" + listener.Addr().String()
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan struct{})
	go func() { defer close(ended); server.Serve(ctx, listener) }()
	s.stop = sync.OnceFunc(func() { cancel(); <-ended; server.Close() })
}

func (s *shop) file(id string) string {
	s.t.Helper()
	text, err := os.ReadFile(filepath.Join(s.folder, id+".yaml"))
	if err != nil {
		s.t.Fatal(err)
	}
	return string(text)
}

// patience is for a machine that runs all packages' tests at once and draws in
// software.
const patience = 3 * time.Minute

// tab is a tab of the browser with the page in it.
type tab struct {
	t    testing.TB
	ctx  context.Context
	shop *shop

	mu      sync.Mutex
	errs    []string // exceptions and complaints of the browser
	outside []string // requests to anywhere else
}

// open opens a tab of so many pixels at a place of the page, "#/barleycorn".
func (s *shop) open(b context.Context, t testing.TB, place string, w, h int64) *tab {
	t.Helper()
	ctx, cancel := chromedp.NewContext(b)
	t.Cleanup(cancel)
	ctx, cancel = context.WithTimeout(ctx, patience)
	t.Cleanup(cancel)
	tb := &tab{t: t, ctx: ctx, shop: s}
	tb.do(chromedp.EmulateViewport(w, h))
	err := chromedp.Listen(ctx, func(e any) {
		switch e := e.(type) {
		case *runtime.EventExceptionThrown:
			text := e.ExceptionDetails.Text
			if x := e.ExceptionDetails.Exception; x != nil {
				text += " " + x.Description
			}
			tb.complain(text)
		case *log.EventEntryAdded:
			if e.Entry.Level == log.EntryLevelError {
				tb.complain(e.Entry.Text + " " + e.Entry.URL)
			}
		case *network.EventRequestWillBeSent:
			url := e.Request.URL
			if !strings.HasPrefix(url, s.address) && !strings.HasPrefix(url, "data:") && !strings.HasPrefix(url, "blob:") && !strings.HasPrefix(url, "about:") {
				tb.mu.Lock()
				tb.outside = append(tb.outside, url)
				tb.mu.Unlock()
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		tb.mu.Lock()
		defer tb.mu.Unlock()
		for _, u := range tb.outside {
			t.Errorf("the page asked for %s", u)
		}
		for _, e := range tb.errs {
			t.Errorf("the browser complained: %s", e)
		}
	})
	tb.do(chromedp.Navigate(s.address + "/" + place))
	return tb
}

func (tb *tab) complain(text string) {
	tb.mu.Lock()
	defer tb.mu.Unlock()
	tb.errs = append(tb.errs, text)
}

// forgive drops the complaints that a test has provoked.
func (tb *tab) forgive(about string) {
	tb.mu.Lock()
	defer tb.mu.Unlock()
	tb.errs = slices.DeleteFunc(tb.errs, func(e string) bool { return strings.Contains(e, about) })
}

func (tb *tab) do(a ...chromedp.Action[chromedp.Void]) {
	tb.t.Helper()
	if err := chromedp.Do(tb.ctx, a...); err != nil {
		tb.t.Fatal(err)
	}
}

func (tb *tab) eval(js string) any {
	tb.t.Helper()
	v, err := chromedp.Run(tb.ctx, chromedp.Evaluate[any](js, chromedp.EvalAwaitPromise))
	if err != nil {
		tb.t.Fatalf("%s: %v", js, err)
	}
	return v
}

func (tb *tab) text(js string) string {
	tb.t.Helper()
	return fmt.Sprint(tb.eval(js))
}

// until waits for an expression to hold.
func (tb *tab) until(what, js string) {
	tb.t.Helper()
	for end := time.Now().Add(45 * time.Second); ; time.Sleep(30 * time.Millisecond) {
		v, err := chromedp.Run(tb.ctx, chromedp.Evaluate[any]("(async () => !!(await ("+js+")))()", chromedp.EvalAwaitPromise))
		if v == true {
			return
		}
		// A look that a reload cuts short has seen nothing.
		if err != nil && !strings.Contains(err.Error(), "navigated") {
			tb.t.Fatalf("%s: %v", js, err)
		}
		if time.Now().After(end) {
			tb.t.Fatalf("waited for %s; the page says:\n%s", what, tb.text("document.body.innerText.slice(0, 1500)"))
		}
	}
}

// until of a test waits for a condition outside the page.
func until(t testing.TB, what string, ok func() bool) {
	t.Helper()
	for end := time.Now().Add(30 * time.Second); !ok(); time.Sleep(20 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("waited for %s", what)
		}
	}
}

const stage = `document.querySelector(".stage canvas")`

// drawn waits for the piece to be drawn with at least so many layers.
func (tb *tab) drawn(layers int) {
	tb.t.Helper()
	tb.until("the piece to be drawn", fmt.Sprintf("+(%s?.dataset.layers ?? 0) >= %d", stage, layers))
}

// settled waits until the piece is refined no further and names what is drawn:
// the layers and the digest of the job they show.
func (tb *tab) settled() string {
	tb.t.Helper()
	return tb.text(fmt.Sprintf(`new Promise((done) => {
		let was = "", since = 0;
		const look = () => {
			const now = %[1]s.dataset.layers + " layers of " + %[1]s.dataset.digest;
			if (now !== was) { was = now; since = performance.now(); }
			if (performance.now() - since > 1200) done(now);
			else setTimeout(look, 50);
		};
		look();
	})`, stage))
}

// piece is the picture of the piece as it is on the screen.
func (tb *tab) piece() *image.Gray {
	tb.t.Helper()
	// The canvas lies on whole pixels of the screen; the stage round it need not.
	raw, err := chromedp.Run(tb.ctx, chromedp.Screenshot(chromedp.CSS(".stage canvas")))
	if err != nil {
		tb.t.Fatal(err)
	}
	return grey(tb.t, raw)
}

func grey(t testing.TB, raw []byte) *image.Gray {
	t.Helper()
	im, err := png.Decode(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	g := image.NewGray(im.Bounds())
	for y := g.Rect.Min.Y; y < g.Rect.Max.Y; y++ {
		for x := g.Rect.Min.X; x < g.Rect.Max.X; x++ {
			g.Set(x, y, im.At(x, y))
		}
	}
	return g
}

// difference is the mean of the absolute differences of two pictures, in levels
// of 255.
func difference(a, b *image.Gray) float64 {
	sum, n := 0, 0
	for y := range min(a.Rect.Dy(), b.Rect.Dy()) {
		for x := range min(a.Rect.Dx(), b.Rect.Dx()) {
			d := int(a.Pix[y*a.Stride+x]) - int(b.Pix[y*b.Stride+x])
			sum += max(d, -d)
			n++
		}
	}
	return float64(sum) / float64(n)
}

// spacing is the period of a row of a picture, in pixels: where the row, moved
// along itself, is most like itself again (parabola through the best three).
func spacing(g *image.Gray, y, from, to int, least, most int) float64 {
	row := g.Pix[y*g.Stride+from : y*g.Stride+to]
	mean := 0.0
	for _, v := range row {
		mean += float64(v) / float64(len(row))
	}
	like := make([]float64, most+2)
	for lag := range like {
		for i := 0; i+lag < len(row); i++ {
			like[lag] += (float64(row[i]) - mean) * (float64(row[i+lag]) - mean)
		}
		like[lag] /= float64(len(row) - lag)
	}
	best := least
	for lag := least; lag <= most; lag++ {
		if like[lag] > like[best] {
			best = lag
		}
	}
	a, b, c := like[best-1], like[best], like[best+1]
	return float64(best) + (a-c)/(2*(a-2*b+c))
}

// field clicks the value of a field and waits for its editor.
func (tb *tab) field(field string) {
	tb.t.Helper()
	value := fmt.Sprintf("document.querySelector('[data-field=%q]')", field)
	tb.until("the value "+field, value)
	tb.eval(value + ".click()")
	tb.until("the editor of "+field, "document.activeElement.matches('.editor .entry')")
}

// write replaces what stands in the open editor.
func (tb *tab) write(text string) {
	tb.t.Helper()
	tb.do(chromedp.KeyEvent("a", chromedp.KeyModifiers(2)), chromedp.KeyEvent(text))
}

// tabs is what every test of the page has before it.
type tabs struct{ ctx context.Context }

// press presses a key by its name, with 2 for Control and 8 for Shift.
func (tb *tab) press(key string, modifiers int) {
	tb.t.Helper()
	names := map[string]string{"Enter": kb.Enter, "Tab": kb.Tab, "Escape": kb.Escape, "ArrowUp": kb.ArrowUp,
		"ArrowDown": kb.ArrowDown, "ArrowLeft": kb.ArrowLeft, "ArrowRight": kb.ArrowRight,
		"PageDown": kb.PageDown, "Delete": kb.Delete}
	if k, ok := names[key]; ok {
		key = k
	}
	tb.do(chromedp.KeyEvent(key, chromedp.KeyModifiers(chromedp.Modifier(modifiers))))
}

// fetch gets an answer of the server as the page would.
func (tb *tab) fetch(url string) []byte {
	tb.t.Helper()
	answer, err := http.Get(tb.shop.address + url)
	if err != nil {
		tb.t.Fatal(err)
	}
	defer answer.Body.Close()
	raw, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode != http.StatusOK {
		tb.t.Fatalf("%s: %s %v: %.300s", url, answer.Status, err, raw)
	}
	return raw
}

// keep writes a screenshot into the folder that BRIGHTCUT_SCREENSHOTS names.
func (tb *tab) keep(name string) {
	tb.t.Helper()
	folder := os.Getenv("BRIGHTCUT_SCREENSHOTS")
	if folder == "" {
		return
	}
	raw, err := chromedp.Run(tb.ctx, chromedp.CaptureScreenshot())
	if err == nil {
		err = os.MkdirAll(folder, 0o755)
	}
	if err == nil {
		err = os.WriteFile(filepath.Join(folder, name+".png"), raw, 0o644)
	}
	if err != nil {
		tb.t.Fatal(err)
	}
}
