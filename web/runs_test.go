package web

import (
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"brightcut/bench"
)

const firstRun = "4b1d0c3e-0000-4000-8000-000000000001"

func (b *served) start(id, job string) runView {
	b.t.Helper()
	var v runView
	b.want(201, "POST", "/api/runs", m{"id": id, "job": job}, &v)
	return v
}

func (b *served) count(run string, events ...m) appended {
	b.t.Helper()
	var a appended
	b.want(200, "POST", "/api/runs/"+run+"/events", m{"events": events}, &a)
	return a
}

func done(id string, cut int, more ...any) m {
	e := m{"id": id, "kind": "done", "cut": cut, "at": time.Now().UTC().Format(time.RFC3339Nano)}
	for i := 0; i+1 < len(more); i += 2 {
		e[more[i].(string)] = more[i+1]
	}
	return e
}

func TestRunCounted(t *testing.T) {
	b := newBench(t)
	hear := b.listen("screen-2")
	v := b.start(firstRun, "barleycorn")
	if v.Next != 1 || v.Total != 160 || v.State != bench.UnderWay || v.Seq != 1 || v.Changed || v.Title != "Barleycorn panel" || v.Device != atHome {
		t.Fatalf("started: %+v", v)
	}
	b.hear(hear, "run", "id", firstRun, "by", "page-1")
	if again := b.start(firstRun, "barleycorn"); again.Seq != 1 {
		t.Errorf("started twice: %+v", again)
	}
	at := time.Date(2026, 3, 5, 10, 0, 0, 0, time.UTC)
	var events []m
	for n := 1; n <= 40; n++ {
		events = append(events, done(fmt.Sprint("d", n), n, "at", at.Add(time.Duration(n)*20*time.Second), "seen", v.Seq))
	}
	a := b.count(firstRun, events...)
	if a.Seq != 41 || len(a.Outcomes) != 40 || a.Outcomes[39].Outcome != bench.Kept || a.Run.Next != 41 || a.Run.Counted != 40 {
		t.Fatalf("counted: %+v", a)
	}
	// 20 s a cut, 120 cuts to come.
	if p := a.Run.Pace; p == nil || p.Seconds != 20 || p.Cuts != 39 || a.Run.Left.Seconds != 2400 {
		t.Errorf("pace %+v, left %+v", a.Run.Pace, a.Run.Left)
	}
	if l := a.Run.Last; l == nil || l.ID != "d40" || l.Cut != 40 || l.Device != atHome {
		t.Errorf("last: %+v", l)
	}
	b.hear(hear, "run", "id", firstRun, "by", "page-1")
	// Sent again, counted once; another's too soon is a question; one without a time that can be read is refused alone.
	a = b.count(firstRun, events[39], done("far", 50, "seen", 41), done("odd", 41, "at", "yesterday"), done("d41", 41, "seen", 41))
	got := fmt.Sprint(a.Outcomes[0].Outcome, " ", a.Outcomes[1].Outcome, " ", a.Outcomes[2].Outcome, " ", a.Outcomes[2].ID, " ", a.Outcomes[3].Outcome)
	if got != "already conflict refused odd conflict" {
		t.Errorf("outcomes: %s: %+v", got, a.Outcomes)
	}
	if len(a.Run.Conflicts) != 1 || a.Run.Conflicts[0].ID != "far" || a.Run.Conflicts[0].Why == "" || len(a.Run.Conflicts[0].Following) != 1 {
		t.Errorf("conflicts: %+v", a.Run.Conflicts)
	}
	a = b.count(firstRun, m{"id": "s1", "kind": "settled", "settles": "far", "choice": "drop", "seen": a.Seq})
	a = b.count(firstRun, done("d41b", 41, "seen", a.Seq), m{"id": "k", "kind": "skipped", "cut": 42, "text": "a flaw in the metal", "seen": a.Seq},
		m{"id": "n", "kind": "note", "text": "oil", "cut": 41}, m{"id": "h", "kind": "held", "text": "guide off"},
		m{"id": "w", "kind": "measured", "cut": 40, "reading": 12.5, "width_um": 151.5, "place": "left of the middle"})
	r := a.Run
	if r.Next != 43 || len(r.Skipped) != 1 || r.Skipped[0].Text != "a flaw in the metal" || len(r.Notes) != 1 || r.Held.Text != "guide off" || r.Measured != 1 || len(r.Conflicts) != 0 {
		t.Errorf("the run: %+v", r)
	}
	// The log says the same to who reads it, all of it or from a place on.
	var all, tail struct {
		Seq    int64
		Events []logged
	}
	b.want(200, "GET", "/api/runs/"+firstRun+"/events", nil, &all)
	b.want(200, "GET", fmt.Sprintf("/api/runs/%s/events?after=%d", firstRun, all.Seq-1), nil, &tail)
	if len(tail.Events) != 1 || tail.Seq != all.Seq || len(all.Events) != int(all.Seq) || tail.Events[0].WidthOr() != "40 12.5 151.5 left of the middle" {
		t.Errorf("the log: %d events, tail %+v", len(all.Events), tail)
	}
	b.problem(400, "request", "GET", "/api/runs/"+firstRun+"/events?after=-1", nil)
	// The shelf and the list tell of it.
	var w workshop
	b.want(200, "GET", "/api/workshop", nil, &w)
	for _, j := range w.Jobs {
		if (j.Run == firstRun) != (j.ID == "barleycorn") {
			t.Errorf("the shelf says of %s: run %q", j.ID, j.Run)
		}
	}
	// The job changes, the run does not.
	job := b.job("barleycorn")
	b.want(200, "POST", "/api/jobs/barleycorn/set", m{"field": "depth", "value": "61 um", "if_revision": job.Revision}, nil)
	b.want(200, "GET", "/api/runs/"+firstRun, nil, &v)
	if !v.Changed || v.Digest != r.Digest || v.Next != 43 {
		t.Errorf("after the job changed: %+v", v)
	}
	var list struct{ Runs []runLine }
	b.want(200, "GET", "/api/runs", nil, &list)
	if len(list.Runs) != 1 || list.Runs[0].Next != 43 || list.Runs[0].Job != "barleycorn" || list.Runs[0].Last.IsZero() {
		t.Errorf("the list: %+v", list)
	}
	// Taken up by a server that starts anew.
	other := benchIn(t, b.dir)
	other.want(200, "GET", "/api/runs/"+firstRun, nil, &v)
	if v.Next != 43 || v.Counted != 41 {
		t.Errorf("a new server says: %+v", v)
	}
}

// WidthOr tells a measured event on one line.
func (e logged) WidthOr() string {
	if e.Reading == nil {
		return "not measured"
	}
	return fmt.Sprint(e.Cut, " ", *e.Reading, " ", e.Width, " ", e.Place)
}

// Readings of a rose engine are degrees outside and come back as they went in.
func TestReadingsOfASpindle(t *testing.T) {
	b := newBench(t)
	b.start(firstRun, "concentric-waves")
	b.count(firstRun, m{"id": "w", "kind": "measured", "cut": 1, "reading": 123.4, "width_um": 80})
	events, err := b.server.runs.log.Events(t.Context(), firstRun, 0)
	if err != nil || len(events) != 2 || fmt.Sprintf("%.9f", events[1].Reading) != "2.153736297" { // 123.4 · π/180
		t.Errorf("in the log: %+v, %v", events, err)
	}
	var all struct {
		Seq    int64
		Events []logged
	}
	b.want(200, "GET", "/api/runs/"+firstRun+"/events?after=1", nil, &all)
	if all.Events[0].WidthOr() != "1 123.4 80 " {
		t.Errorf("outside: %s", all.Events[0].WidthOr())
	}
}

func TestRunCuts(t *testing.T) {
	b := newBench(t)
	for i, id := range []string{"barleycorn", "bowed-dial", "inch-barleycorn", "concentric-waves"} {
		run := fmt.Sprint("run-", i)
		v := b.start(run, id)
		var p programView
		b.want(200, "GET", "/api/runs/"+run+"/cuts.json", nil, &p)
		if p.Total != v.Total || len(p.Cuts) != v.Total || p.ReadingUnit != []string{"mm", "mm", "in", "deg"}[i] {
			t.Errorf("%s: %d cuts of %d in %s", id, len(p.Cuts), v.Total, p.ReadingUnit)
		}
		planned := false
		for n, c := range p.Cuts {
			if c.Number != n+1 || len(c.Dials) != len(p.Dials) || c.HoldText == "" || len(c.Spans) == 0 || c.LengthMM <= 0 {
				t.Fatalf("%s: cut %d is %+v", id, n+1, c)
			}
			planned = planned || c.Change != ""
		}
		if id == "barleycorn" && p.Cuts[1].Action != "Step 16 teeth. Bar up 75 teeth." { // the issue's own words
			t.Errorf("%s: cut 2 says %q", id, p.Cuts[1].Action)
		}
		if id == "bowed-dial" && !planned {
			t.Errorf("%s: no cut says that its hold changes", id)
		}
		for _, file := range []string{"cuts.json", "cuts.bin", "picture.png?pixels=20&upto=5"} {
			res, _ := b.do("GET", "/api/runs/"+run+"/"+file, nil)
			if res.StatusCode != 200 || !strings.Contains(res.Header.Get("Cache-Control"), "immutable") || res.Header.Get("ETag") == "" {
				t.Errorf("%s %s: %d %v", id, file, res.StatusCode, res.Header)
			}
			again, _ := b.do("GET", "/api/runs/"+run+"/"+file, nil, "If-None-Match", res.Header.Get("ETag"))
			if again.StatusCode != http.StatusNotModified {
				t.Errorf("%s %s again: %d", id, file, again.StatusCode)
			}
		}
		if i > 1 {
			continue
		}
		// The same picture as the job's own.
		_, ours := b.do("GET", "/api/runs/"+run+"/picture.png?pixels=40&samples=1", nil)
		_, theirs := b.do("GET", "/api/jobs/"+id+"/picture.png?pixels=40&samples=1", nil)
		if string(ours) != string(theirs) {
			t.Errorf("%s: the run's picture is another", id)
		}
	}
	var p programView
	b.want(200, "GET", "/api/runs/run-0/cuts.json", nil, &p)
	s := p.Cuts[41].Settings // cut 42 of an alternating phase: exact by slide and shift
	var found struct {
		Candidates []candidateView
		Total      int
		Exact      bool
		Text       string
	}
	b.want(200, "GET", fmt.Sprintf("/api/runs/run-0/where?slide=%d&shift=%d", s.Slide, s.Shift), nil, &found)
	has := false
	for _, c := range found.Candidates {
		has = has || c.Last == 42 || c.Next == 42
	}
	if !found.Exact || !has || found.Text == "" {
		t.Errorf("where: %+v", found)
	}
	b.problem(400, "request", "GET", "/api/runs/run-0/where?slide=left", nil)
	b.problem(400, "request", "GET", "/api/runs/run-0/picture.png?pixels=1", nil)
}

func TestRunsRefused(t *testing.T) {
	b := newBench(t)
	v := b.start(firstRun, "barleycorn")
	for _, path := range []string{"", "/events", "/cuts.json", "/cuts.bin", "/picture.png", "/where", "/run.run"} {
		b.problem(404, "not-found", "GET", "/api/runs/none"+path, nil)
	}
	b.problem(404, "not-found", "POST", "/api/runs/none/events", m{"events": []m{done("a", 1)}})
	b.problem(404, "not-found", "POST", "/api/runs", m{"id": "x", "job": "none"})
	b.problem(404, "not-found", "POST", "/api/runs", m{"id": "x", "job": "../etc/passwd"})
	b.problem(409, "exists", "POST", "/api/runs", m{"id": firstRun, "job": "hobnail"})
	if p := b.problem(422, "request", "POST", "/api/runs", m{"id": "not an id", "job": "hobnail"}); !strings.Contains(p.Detail, "letters, digits") {
		t.Errorf("a bad id: %+v", p)
	}
	b.problem(400, "request", "POST", "/api/runs", m{"id": "y", "job": "hobnail", "device": strings.Repeat("long ", 20)})
	if err := os.WriteFile(filepath.Join(b.dir, "broken.yaml"), []byte(strings.Replace(b.file("barleycorn.yaml"), "depth:", "depht:", 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	if p := b.problem(422, "faults", "POST", "/api/runs", m{"id": "y", "job": "broken"}); len(p.Faults) == 0 || p.Faults[0].Line == 0 {
		t.Errorf("a broken job: %+v", p)
	}
	many := make([]m, mostSent+1)
	for i := range many {
		many[i] = m{"id": "a"}
	}
	b.problem(413, "request", "POST", "/api/runs/"+firstRun+"/events", m{"events": many})
	for what, c := range map[string]struct {
		body   string
		status int
	}{"nothing": {"", 400}, "a list": {"[]", 400}, "an unknown key": {`{"events":[{"id":"a","sum":1}]}`, 400}, "a settings": {`{"events":[{"id":"a","settings":{}}]}`, 400},
		"no events": {`{}`, 200}, "a huge number": {`{"events":[{"cut":1e99}]}`, 400}} {
		if res, text := b.do("POST", "/api/runs/"+firstRun+"/events", strings.NewReader(c.body)); res.StatusCode != c.status {
			t.Errorf("%s: %d, want %d: %.200s", what, res.StatusCode, c.status, text)
		}
	}
	a := b.count(firstRun, m{"id": "a", "kind": "gone"}, m{"id": "b", "kind": "started"}, m{"id": "", "kind": "done", "cut": 1}, done("c", 161), done("d", 0), m{"id": "e", "kind": "measured", "cut": 1, "width_um": -1})
	for _, o := range a.Outcomes {
		if o.Outcome != bench.Refused || o.Why == "" {
			t.Errorf("%+v", o)
		}
	}
	if a.Seq != v.Seq {
		t.Errorf("refused events are in the log: %d", a.Seq)
	}
}

func TestRunFile(t *testing.T) {
	b := newBench(t)
	b.start(firstRun, "barleycorn")
	b.count(firstRun, done("d1", 1), done("d2", 2))
	res, file := b.do("GET", "/api/runs/"+firstRun+"/run.run", nil)
	if res.StatusCode != 200 || res.Header.Get("Content-Type") != "application/octet-stream" || !strings.Contains(res.Header.Get("Content-Disposition"), firstRun+".run") {
		t.Fatalf("export: %d %v", res.StatusCode, res.Header)
	}
	octets := []string{"Content-Type", "application/octet-stream"}
	other := newBench(t)
	for range 2 {
		res, text := other.do("POST", "/api/runs/import", strings.NewReader(string(file)), octets...)
		if res.StatusCode != 201 {
			t.Fatalf("import: %d %s", res.StatusCode, text)
		}
	}
	var v runView
	other.want(200, "GET", "/api/runs/"+firstRun, nil, &v)
	if v.Next != 3 || v.Title != "Barleycorn panel" {
		t.Errorf("taken in: %+v", v)
	}
	other.count(firstRun, done("d3", 3, "seen", v.Seq))
	b.count(firstRun, done("x3", 3))
	_, file = b.do("GET", "/api/runs/"+firstRun+"/run.run", nil)
	if res, text := other.do("POST", "/api/runs/import", strings.NewReader(string(file)), octets...); res.StatusCode != 409 || !strings.Contains(string(text), "other-history") {
		t.Errorf("another history: %d %s", res.StatusCode, text)
	}
	for what, c := range map[string]struct {
		body   string
		kind   string
		status int
	}{"no file": {"", "application/octet-stream", 422}, "not a run": {"PK\x03\x04 and more", "application/octet-stream", 422}, "torn": {string(file[:len(file)/2]), "application/octet-stream", 422},
		"a form": {string(file), "text/plain", 415}, "too large": {strings.Repeat("x", mostRunFile+1), "application/octet-stream", 413}} {
		if res, text := other.do("POST", "/api/runs/import", strings.NewReader(c.body), "Content-Type", c.kind); res.StatusCode != c.status {
			t.Errorf("%s: %d, want %d: %.300s", what, res.StatusCode, c.status, text)
		}
	}
}
