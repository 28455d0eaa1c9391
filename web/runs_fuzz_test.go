package web

import (
	"encoding/json"
	"fmt"
	"net/http/httptest"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"brightcut/bench"
	"brightcut/examples"
)

// FuzzEvents: no body makes the server stumble. What it refuses leaves the log as
// it was; of what it takes each event has its outcome, and the log is whole and as
// long as it says.
func FuzzEvents(f *testing.F) {
	for _, seed := range []string{
		`{"events":[{"id":"a","kind":"done","cut":1,"at":"2026-03-05T10:02:00Z","seen":1}]}`,
		`{"events":[{"id":"a","kind":"done","cut":1},{"id":"a","kind":"done","cut":1},{"id":"b","kind":"undone","undoes":"a"}],"device":"Screen 2"}`,
		`{"events":[{"id":"a","kind":"done","cut":7},{"id":"b","kind":"settled","settles":"a","choice":"count"},{"id":"c","kind":"placed","cut":161}]}`,
		`{"events":[{"id":"w","kind":"measured","cut":3,"piece":1,"reading":-12.5,"width_um":1e-300,"place":"x"}]}`,
		`{"events":[{"id":"w","kind":"measured","cut":3,"reading":1e308,"width_um":1e308}]}`,
		`{"events":[{"id":"n","kind":"note","text":"\u0000\ud800 <b>","at":"0000-01-01T00:00:00Z","seen":-1}]}`,
		`{"events":[{"id":"f","kind":"finished"},{"id":"r","kind":"reopened"},{"id":"x","kind":"abandoned"},{"id":"y","kind":"done","cut":1}]}`,
		`{"events":[{"id":"a","kind":"started","seen":9223372036854775807}]}`,
		`{"events":[{"id":"start-r1","kind":"done","cut":1}]}`,
		`{"events":null}`, `{}`, `{"events":[null,{}]}`, `{"events":[[]]}`,
	} {
		f.Add(seed)
	}
	dir := f.TempDir()
	if err := os.CopyFS(dir, examples.Workshop); err != nil {
		f.Fatal(err)
	}
	s, err := New(dir, Options{})
	if err != nil {
		f.Fatal(err)
	}
	f.Cleanup(func() { s.Close() })
	post := func(path, body string) *httptest.ResponseRecorder {
		r := httptest.NewRequest("POST", "http://127.0.0.1"+path, strings.NewReader(body))
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		return w
	}
	n := 0
	f.Fuzz(func(t *testing.T, body string) {
		n++
		run := fmt.Sprint("r", n)
		if w := post("/api/runs", fmt.Sprintf(`{"id":%q,"job":"barleycorn"}`, run)); w.Code != 201 {
			t.Fatalf("%d: %s", w.Code, w.Body)
		}
		w := post("/api/runs/"+run+"/events", body)
		log, err := s.runs.open()
		if err != nil {
			t.Fatal(err)
		}
		events, err := log.Events(t.Context(), run, 0)
		if err != nil {
			t.Fatalf("the log is not whole: %v", err)
		}
		switch {
		case w.Code >= 500:
			t.Fatalf("%d: %s", w.Code, w.Body)
		case w.Code >= 400:
			var p problem
			if err := json.Unmarshal(w.Body.Bytes(), &p); err != nil || p.Title == "" || p.Status != w.Code {
				t.Fatalf("%d: %s", w.Code, w.Body)
			}
			if len(events) != 1 {
				t.Fatalf("refused, and the log has %d events", len(events))
			}
		default:
			var a appended
			if err := json.Unmarshal(w.Body.Bytes(), &a); err != nil || a.Run == nil {
				t.Fatalf("%v: %s", err, w.Body)
			}
			fresh := 0
			for _, o := range a.Outcomes {
				switch o.Outcome {
				case bench.Kept:
				case bench.Already, bench.Conflict, bench.Refused:
					if o.Why == "" {
						t.Fatalf("no word why: %+v", o)
					}
				default:
					t.Fatalf("%+v", o)
				}
			}
			for _, e := range events[1:] {
				if slices.ContainsFunc(a.Outcomes, func(o outcomeView) bool { return o.ID == e.ID && o.Outcome != bench.Refused }) {
					fresh++
				}
			}
			if int(a.Seq) != len(events) || fresh != len(events)-1 {
				t.Fatalf("seq %d, %d events, %d of them acknowledged: %s", a.Seq, len(events), fresh, w.Body)
			}
		}
	})
}

// BenchmarkEvents is one count from the request to its answer, over HTTP with the
// whole run in the answer, in a run of so many counts. To be met: median 2 ms,
// p99 50 ms of the disk's, and about as much again for all round it.
func BenchmarkEvents(b *testing.B) {
	s := newBench(b)
	s.start(firstRun, "barleycorn")
	s.want(200, "GET", "/api/runs/"+firstRun+"/cuts.json", nil, nil)
	var took []time.Duration
	k := 0
	for b.Loop() {
		k++
		e := done(fmt.Sprint("k", k), (k-1)%161+1, "seen", k)
		if e["cut"] == 161 {
			e["kind"], e["cut"] = "placed", 1
		}
		from := time.Now()
		a := s.count(firstRun, e)
		took = append(took, time.Since(from))
		if a.Outcomes[0].Outcome != bench.Kept {
			b.Fatalf("%+v", a.Outcomes)
		}
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "ms/median")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "ms/p99")
}
