package web_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// noted stands where a machine without loudspeaker and lock has none, and notes what
// the page asks of them.
const noted = `
	window.noted = {said: [], tones: [], held: 0, let: 0, refuse: false, lock: null};
	SpeechSynthesis.prototype.speak = (words) => { noted.said.push(words.text); };
	const make = AudioContext.prototype.createOscillator;
	AudioContext.prototype.createOscillator = function () {
		const tone = make.call(this), start = tone.start.bind(tone);
		tone.start = (at) => { noted.tones.push(tone.frequency.value); start(at); };
		return tone;
	};
	WakeLock.prototype.request = async () => {
		if (noted.refuse) throw new DOMException("no", "NotAllowedError");
		noted.held++;
		return noted.lock = {released: false, release: async () => { noted.let++; noted.lock.released = true; }};
	};`

func (tb *tab) mouse(selector string) {
	tb.t.Helper()
	box := tb.eval(`(({x, y, width, height}) => [x + width / 2, y + height / 2])(` + selector + `.getBoundingClientRect())`).([]any)
	tb.do(chromedp.MouseClickXY(box[0].(float64), box[1].(float64)))
}

const labelled = `[...document.querySelectorAll("label")].find((l) => l.textContent.includes("%s")).querySelector("input")`

func heardAndAwake(t *testing.T, b *tabs) {
	s := newShop(t, "parallel-lines")
	run := s.start("parallel-lines", "heard")
	tb := s.face(b.ctx, t, "parallel-lines", run, 1280, 800)
	tb.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: noted})
		return err
	}))
	tb.reload()
	tb.until("the screen to be kept awake", `noted.held === 1`)
	tb.strokes(" ", 1, 1)
	if n := tb.eval(`noted.said.length + noted.tones.length`); n != 0.0 {
		t.Errorf("%v words and tones before any was asked for", n)
	}
	tick := func(words string) string { return strings.Replace(labelled, "%s", words, 1) + ".click(), 0" }
	tb.click("Pedal, sound, screen")
	tb.until("the panel", `document.querySelector(".panel")`)
	tb.eval(tick("a tick for each count"))
	tb.until("a tick to try", `noted.tones.length > 0`)
	time.Sleep(300 * time.Millisecond) // that of cut 1 may have come a moment after it was shown
	tb.eval(`noted.tones = [], 0`)
	tb.eval(tick("say aloud what changes"))
	tb.until("the next action to be said", `noted.said.length === 1 && noted.said[0].includes("teeth")`)
	tb.press("Escape", 0)
	// The action of cuts 3 and 4 is that of cut 2: it needs no voice, but each is heard.
	tb.strokes(" ", 2, 3)
	tb.until("two more ticks", `noted.tones.length === 2 && noted.tones.every((hertz) => hertz > 1000)`)
	if n := tb.eval(`noted.said.length`); n != 1.0 {
		t.Errorf("%v: what does not change is said again", tb.eval(`noted.said`))
	}
	tb.hold("Backspace", "Backspace", 8, time.Second)
	tb.next(3)
	tb.until("another tone", `noted.tones.length > 2 && noted.tones.slice(2).every((hertz) => hertz < 500)`)

	// The browser lets go of the lock while the page is hidden.
	tb.eval(`noted.lock.released = true, document.dispatchEvent(new Event("visibilitychange")), 0`)
	tb.until("the screen to be kept awake again", `noted.held === 2`)
	tb.eval(`noted.refuse = true, noted.lock.released = true, document.dispatchEvent(new Event("visibilitychange")), 0`)
	tb.until("that it may go dark", `document.querySelector(".dark-warning")?.textContent.includes("does not let the page keep the screen awake")`)
	tb.eval(`noted.refuse = false, document.dispatchEvent(new Event("visibilitychange")), 0`)
	tb.until("the warning to go", `noted.held === 3 && !document.querySelector(".dark-warning")`)
	tb.click("Pedal, sound, screen")
	tb.until("the panel", `document.querySelector(".panel")`)
	tb.eval(tick("keep the screen awake"))
	tb.until("the lock to be let go", `noted.let === 1`)
	tb.press("Escape", 0)

	const words = `[...document.querySelectorAll("button")].find((b) => b.textContent.endsWith("full screen"))`
	tb.mouse(words)
	tb.until("the full screen", `document.fullscreenElement && `+words+`.textContent === "leave the full screen"`)
	tb.strokes(" ", 3, 3) // the pedal counts there, and does not press the words
	tb.mouse(words)
	tb.until("the full screen to be left", `!document.fullscreenElement && `+words+`.textContent === "full screen"`)
	if state := stateOf(t, s, run); state.Counted != 3 {
		t.Errorf("%d cuts are counted, want 3", state.Counted)
	}
}

func breakAsked(t *testing.T, b *tabs) {
	s := newShop(t, "parallel-lines")
	run := s.start("parallel-lines", "break")
	tb := s.face(b.ctx, t, "parallel-lines", run, 1024, 768)
	tb.eval(`localStorage.setItem("count-habits", JSON.stringify({twice: 0.001, breakMinutes: 0.03})), 0`)
	tb.reload()
	tb.strokes(" ", 1, 2)
	question := asked + `.includes("do the dials read")`
	tb.until("the question of the dials after a break", question)
	tb.press(" ", 0) // a stroke is held until it is answered
	tb.until("the stroke to be held", `document.querySelector(".asked").textContent.includes("One stroke was made meanwhile")`)
	s.counted(run, 2)
	tb.click("Yes, and count that stroke")
	tb.next(4)
	s.counted(run, 3)
}
