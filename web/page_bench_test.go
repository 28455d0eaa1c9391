package web_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/chromedp/chromedp"
)

// What the page must do, on a machine that draws with a graphics card: a change
// on the piece within 100 ms in the median for 360 cuts, a first picture within
// 1.5 s. The browser of these benchmarks draws in software; the time is taken when
// the frame is told to the card, so that it holds the server, the way and the
// laying out of the paths, but not the drawing.

// BenchmarkChange turns the depth of the sunburst, 360 cuts, up and down.
func BenchmarkChange(b *testing.B) {
	s := newShop(b, "sunburst")
	tb := s.open(browser(b), b, "#/sunburst", 700, 420)
	tb.drawn(1)
	tb.field("depth")
	took := make([]float64, 0, b.N)
	for i := 0; b.Loop(); i++ {
		ms := tb.eval(fmt.Sprintf(`new Promise((done) => {
			const change = () => { // when the drawing before is done
				const was = %[1]s.dataset.digest, begun = performance.now();
				document.querySelectorAll(".editor .turn")[%[2]d].click();
				const look = () => %[1]s.dataset.digest !== was ? done(performance.now() - begun) : setTimeout(look, 1);
				look();
			};
			setTimeout(change, 600);
		})`, stage, i%2))
		took = append(took, ms.(float64))
	}
	slices.Sort(took)
	b.ReportMetric(took[len(took)/2], "ms/change")
	b.ReportMetric(took[len(took)*95/100], "ms-p95/change")
}

// BenchmarkFirstPicture opens the example job in a tab, from the request for the
// page to the first frame told to the card.
func BenchmarkFirstPicture(b *testing.B) {
	s := newShop(b, "barleycorn")
	tb := s.open(browser(b), b, "", 700, 420)
	took := make([]float64, 0, b.N)
	for b.Loop() {
		tb.do(chromedp.Navigate("about:blank"), chromedp.Navigate(s.address+"/#/barleycorn"))
		ms := tb.eval(fmt.Sprintf(`new Promise((done) => {
			const look = () => +(%s?.dataset.layers ?? 0) > 0 ? done(performance.now()) : setTimeout(look, 1);
			look();
		})`, stage))
		took = append(took, ms.(float64))
	}
	slices.Sort(took)
	b.ReportMetric(took[len(took)/2], "ms/picture")
}
