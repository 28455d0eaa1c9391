package web

import (
	"database/sql"
	"os"
	"path/filepath"
	"strings"
	"testing"

	_ "modernc.org/sqlite" // another program that has the log open

	"brightcut/bench"
)

// What the disk does not take is said with 503 and a sentence, is not counted, and
// counts when it is sent again.
func TestNotKept(t *testing.T) {
	b := newBench(t)
	b.start(firstRun, "barleycorn")
	b.count(firstRun, done("d1", 1))
	path := filepath.Join(b.dir, bench.FileName)
	refused := func(what, says string) {
		t.Helper()
		p := b.problem(503, "not-kept", "POST", "/api/runs/"+firstRun+"/events", m{"events": []m{done("d2", 2)}})
		if !strings.HasPrefix(p.Detail, "Nothing was counted: ") || !strings.Contains(p.Detail, says) {
			t.Errorf("%s: %s", what, p.Detail)
		}
		var v runView
		if b.want(200, "GET", "/api/runs/"+firstRun, nil, &v); v.Next != 2 || v.Counted != 1 {
			t.Errorf("%s: the run says next %d, %d counted", what, v.Next, v.Counted)
		}
	}

	other, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	other.SetMaxOpenConns(1)
	if _, err := other.Exec("BEGIN IMMEDIATE"); err != nil {
		t.Fatal(err)
	}
	refused("locked by another program", "another program holds the log locked")
	if _, err := other.Exec("ROLLBACK"); err != nil {
		t.Fatal(err)
	}

	away := path + ".away"
	if err := os.Rename(path, away); err != nil {
		t.Fatal(err)
	}
	refused("taken away", "taken away")
	if err := os.Rename(away, path); err != nil {
		t.Fatal(err)
	}
	if a := b.count(firstRun, done("d2", 2)); a.Outcomes[0].Outcome != bench.Kept || a.Run.Next != 3 {
		t.Errorf("sent again: %+v", a)
	}
}

// A log that cannot be read keeps nobody from the jobs, and is read once it is
// mended.
func TestLogUnreadable(t *testing.T) {
	b := newBench(t)
	path := filepath.Join(b.dir, bench.FileName)
	if err := os.WriteFile(path, []byte(strings.Repeat("no log at all ", 1000)), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, ask := range []struct{ method, path string }{{"GET", "/api/runs"}, {"GET", "/api/runs/" + firstRun}, {"POST", "/api/runs"}} {
		if p := b.problem(500, "server", ask.method, ask.path, m{"id": firstRun, "job": "barleycorn"}); !strings.Contains(p.Detail, bench.FileName) {
			t.Errorf("%s %s: %s", ask.method, ask.path, p.Detail)
		}
	}
	var w workshop
	if b.want(200, "GET", "/api/workshop", nil, &w); len(w.Jobs) == 0 {
		t.Error("the shelf is empty")
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	b.start(firstRun, "barleycorn")
}

// An event that was altered in the file is told, with what is still good.
func TestTornLogTold(t *testing.T) {
	b := newBench(t)
	b.start(firstRun, "barleycorn")
	b.count(firstRun, done("d1", 1), done("d2", 2))
	if err := b.server.Close(); err != nil {
		t.Fatal(err)
	}
	other, err := sql.Open("sqlite", filepath.Join(b.dir, bench.FileName))
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	for _, do := range []string{"DROP TRIGGER event_stays", `UPDATE event SET body = CAST(replace(CAST(body AS TEXT), '"cut":2', '"cut":3') AS BLOB) WHERE seq = 3`} {
		if _, err := other.Exec(do); err != nil {
			t.Fatal(err)
		}
	}
	again := benchIn(t, b.dir)
	if p := again.problem(500, "torn", "GET", "/api/runs/"+firstRun, nil); !strings.Contains(p.Detail, "cut 2 was the next") {
		t.Error(p.Detail)
	}
	again.problem(500, "torn", "POST", "/api/runs/"+firstRun+"/events", m{"events": []m{done("d3", 3)}})
	var list struct{ Runs []runLine }
	if again.want(200, "GET", "/api/runs", nil, &list); len(list.Runs) != 1 || list.Runs[0].Torn == "" || list.Runs[0].Next != 2 {
		t.Errorf("the list: %+v", list)
	}
}
