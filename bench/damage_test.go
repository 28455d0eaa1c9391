package bench

import (
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// tamper changes the log behind the program's back, the triggers out of the way.
func tamper(t *testing.T, l *Log, statements ...string) {
	t.Helper()
	db, err := sql.Open("sqlite", l.path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, do := range append([]string{"DROP TRIGGER event_stays", "DROP TRIGGER event_kept", "DROP TRIGGER run_stays", "DROP TRIGGER run_kept", "DROP TRIGGER file_stays", "DROP TRIGGER file_kept"}, statements...) {
		if _, err := db.Exec(do); err != nil {
			t.Fatal(err)
		}
	}
}

// Nothing can be changed or taken out in the ordinary way.
func TestOnlyAddedTo(t *testing.T) {
	l, r := begun(t)
	if _, err := l.Append(context.Background(), r.ID, done("bench", 1, 1, 3)); err != nil {
		t.Fatal(err)
	}
	for _, table := range []string{"event", "run", "file"} {
		for _, do := range []string{"DELETE FROM " + table, "UPDATE " + table + " SET rowid = rowid + 100"} {
			if _, err := l.db.Exec(do); err == nil || !strings.Contains(err.Error(), "only ever added to") {
				t.Errorf("%s: %v", do, err)
			}
		}
	}
	var n int
	if err := l.db.QueryRow("SELECT count(*) FROM event").Scan(&n); err != nil || n != 4 {
		t.Fatalf("%d events, %v", n, err)
	}
}

// What was altered is found, with what is still good, and nothing is counted on it.
func TestTornIsFound(t *testing.T) {
	ctx := context.Background()
	for _, c := range []struct {
		name, do, why string
		good          int64
		next          int
	}{
		{"another cut", `UPDATE event SET body = CAST(replace(CAST(body AS TEXT), '"cut":7', '"cut":8') AS BLOB) WHERE seq = 8`, "event 8 is not as it was written", 7, 7},
		{"one taken out", "DELETE FROM event WHERE seq = 5", "event 5 is missing", 4, 4},
		{"one put in", "INSERT INTO event SELECT run, 12, 'x', body, chain FROM event WHERE seq = 11", "event 12 is not as it was written", 11, 11},
		{"two exchanged", "UPDATE event SET seq = 100 WHERE seq = 4; UPDATE event SET seq = 4 WHERE seq = 5; UPDATE event SET seq = 5 WHERE seq = 100", "event 4 is not as it was written", 3, 3},
		{"a wrong id", "UPDATE event SET id = 'x' WHERE seq = 6", "event 6 cannot be read", 5, 5},
		{"the head", `UPDATE run SET head = CAST(replace(CAST(head AS TEXT), '"device":"bench"', '"device":"bank"') AS BLOB)`, "event 1 is not as it was written", 0, 1},
		{"the settings", "UPDATE file SET body = CAST(replace(CAST(body AS TEXT), '1', '2') AS BLOB) WHERE digest = (SELECT CAST(head AS TEXT) ->> '$.settings' FROM run)", "one of its files is not as it was written", 0, 0},
		{"no settings", "DELETE FROM file", "one of its files is missing", 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, r := begun(t)
			if _, err := l.Append(ctx, r.ID, done("bench", 1, 1, 10)); err != nil {
				t.Fatal(err)
			}
			l.Close()
			tamper(t, l, c.do)
			l, err := Open(l.folder)
			if err != nil {
				t.Fatal(err)
			}
			defer l.Close()
			_, err = l.Run(ctx, r.ID)
			var torn *Torn
			if !errors.As(err, &torn) || torn.Good != c.good || torn.State.Next != c.next || !strings.Contains(err.Error(), c.why) {
				t.Fatalf("%v; good %+v", err, torn)
			}
			if _, err := l.Append(ctx, r.ID, done("bench", 11, 11, 11)); !errors.As(err, &torn) {
				t.Fatalf("counted on a torn log: %v", err)
			}
			if all, err := l.Runs(ctx); err != nil || len(all) != 1 || all[0].Torn == nil {
				t.Fatalf("%+v, %v", all, err)
			}
		})
	}
}

// A frozen file that was altered is not used.
func TestFrozenFileAltered(t *testing.T) {
	l, r := begun(t)
	l.Close()
	tamper(t, l, "UPDATE file SET body = CAST(CAST(body AS TEXT) || '# x' AS BLOB) WHERE digest = (SELECT CAST(head AS TEXT) ->> '$.files[0].digest' FROM run)")
	l, err := Open(l.folder)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	if _, err := l.Run(context.Background(), r.ID); err == nil || !strings.Contains(err.Error(), "not as it was written") {
		t.Fatal(err)
	}
}

// A file of a newer version, of another program or of rubbish is refused in words.
func TestRefusedFiles(t *testing.T) {
	for _, c := range []struct {
		name, why string
		make      func(path string)
	}{
		{"newer", "another version of the program", func(path string) {
			db, _ := sql.Open("sqlite", path)
			defer db.Close()
			db.Exec("PRAGMA application_id = 1111717236; PRAGMA user_version = 2; CREATE TABLE later (x)")
		}},
		{"foreign", "not a log of this program", func(path string) {
			db, _ := sql.Open("sqlite", path)
			defer db.Close()
			db.Exec("PRAGMA user_version = 1; CREATE TABLE other (x)")
		}},
		{"rubbish", "damaged or no log", func(path string) { os.WriteFile(path, []byte(strings.Repeat("rubbish ", 1000)), 0o644) }},
		{"a folder", "not a plain file", func(path string) { os.Mkdir(path, 0o755) }},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			c.make(filepath.Join(dir, FileName))
			if _, err := Open(dir); err == nil || !strings.Contains(err.Error(), c.why) {
				t.Fatalf("%v; want %q", err, c.why)
			}
		})
	}
}

// Two logs on one file, as in two processes, see each other's counts and never
// give one place twice.
func TestTwoHaveItOpen(t *testing.T) {
	a, r := begun(t)
	b, err := Open(a.folder)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	ctx := context.Background()
	for n := 1; n <= 40; n++ {
		l, device := a, "bench"
		if n%3 == 0 {
			l, device = b, "tablet"
		}
		got, err := l.Append(ctx, r.ID, done(device, int64(n), n, n))
		if err != nil || got.Seq != int64(n+1) || got.State.Next != n+1 {
			t.Fatalf("cut %d: %+v, %v", n, got, err)
		}
	}
	errs := make(chan error, 2)
	for i, l := range []*Log{a, b} {
		go func() {
			var err error
			for n := 41; n <= 60 && err == nil; n++ {
				_, err = l.Append(ctx, r.ID, done([]string{"bench", "tablet"}[i], 41, n, n))
			}
			errs <- err
		}()
	}
	for range 2 {
		if err := <-errs; err != nil {
			t.Fatal(err)
		}
	}
	if s, err := a.Run(ctx, r.ID); err != nil || s.State.Next != 61 || s.State.Seq != 81 || len(s.State.Open) != 0 {
		t.Fatalf("%+v, %v", s, err)
	}
}

// locked by another program: said within the time that it waits; then it goes on.
func TestLocked(t *testing.T) {
	l, r := begun(t)
	ctx := context.Background()
	db, err := sql.Open("sqlite", l.path+"?_txlock=immediate")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	tx, err := db.Begin()
	if err != nil {
		t.Fatal(err)
	}
	_, err = l.Append(ctx, r.ID, done("bench", 1, 1, 1))
	if !errors.Is(err, ErrNotKept) || !strings.Contains(err.Error(), "another program holds the log locked") {
		t.Fatal(err)
	}
	tx.Rollback()
	if a, err := l.Append(ctx, r.ID, done("bench", 1, 1, 1)); err != nil || a.State.Next != 2 {
		t.Fatalf("%+v, %v", a, err)
	}
}

// No room: nothing is counted, and with room again it goes on. The database itself
// is told to be full here; TestDiskFull has a real limit.
func TestFull(t *testing.T) {
	l, r := begun(t)
	ctx := context.Background()
	if _, err := l.Append(ctx, r.ID, done("bench", 1, 1, 5)); err != nil {
		t.Fatal(err)
	}
	l.db.SetMaxOpenConns(2) // the limit is that of a connection; one more only keeps the file open
	if _, err := l.db.Exec("PRAGMA max_page_count = 1"); err != nil {
		t.Fatal(err)
	}
	big := Event{ID: "big", Kind: Note, Device: "bench", Seen: 6, Text: strings.Repeat("x", 2000)}
	var err error
	for n := 6; n <= 60 && err == nil; n++ {
		big.ID = "big" + string(rune('A'+n))
		_, err = l.Append(ctx, r.ID, append(done("bench", 6, n, n), big))
	}
	var kept *NotKept
	if !errors.Is(err, ErrNotKept) || !errors.As(err, &kept) || !strings.Contains(kept.Why, "full") {
		t.Fatal(err)
	}
	now, err := l.Run(ctx, r.ID)
	if err != nil {
		t.Fatal(err)
	}
	events, err := l.Events(ctx, r.ID, 0)
	if err != nil || int64(len(events)) != now.State.Seq || !sameCount(Replay(160, events), now.State) {
		t.Fatalf("the state is %+v, the log's %+v, %v", now.State, Replay(160, events), err)
	}
	if _, err := l.db.Exec("PRAGMA max_page_count = 1000000"); err != nil {
		t.Fatal(err)
	}
	next := now.State.Next
	if a, err := l.Append(ctx, r.ID, done("bench", now.State.Seq, next, next)); err != nil || a.State.Next != next+1 {
		t.Fatalf("%+v, %v", a, err)
	}
}

func sameCount(a, b State) bool {
	return a.Next == b.Next && a.Counted == b.Counted && a.Seq == b.Seq && len(a.Open) == len(b.Open)
}

// A log that is taken away while it is open is missed at once, and found again
// when it is put back.
func TestTakenAway(t *testing.T) {
	ctx := context.Background()
	for _, name := range []string{FileName, FileName + "-wal"} {
		l, r := begun(t)
		if _, err := l.Append(ctx, r.ID, done("bench", 1, 1, 5)); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(l.folder, name)
		if err := os.Rename(path, path+".away"); err != nil {
			t.Fatal(err)
		}
		if _, err := l.Append(ctx, r.ID, done("bench", 6, 6, 6)); !errors.Is(err, ErrNotKept) || !strings.Contains(err.Error(), name+" was taken away") {
			t.Fatalf("%s: %v", name, err)
		}
		if err := os.Rename(path+".away", path); err != nil {
			t.Fatal(err)
		}
		if a, err := l.Append(ctx, r.ID, done("bench", 6, 6, 6)); err != nil || a.State.Next != 7 {
			t.Fatalf("%s put back: %+v, %v", name, a, err)
		}
		l.Close()
	}
}

// Taken away in the very moment of writing it is not acknowledged either.
func TestTakenAwayMeanwhile(t *testing.T) {
	l, _ := begun(t)
	l.mu.Lock()
	defer l.mu.Unlock()
	err := l.write(context.Background(), func(context.Context, *sql.Tx) error { return os.Rename(l.path, l.path+".away") })
	if !errors.Is(err, ErrNotKept) {
		t.Fatal(err)
	}
}

// An older copy of the log put in its place is read anew, and whoever has seen
// more of the run says so.
func TestOlderCopyPutBack(t *testing.T) {
	l, r := begun(t)
	ctx := context.Background()
	if _, err := l.Append(ctx, r.ID, done("bench", 1, 1, 5)); err != nil {
		t.Fatal(err)
	}
	if _, err := l.db.Exec("VACUUM INTO ?", filepath.Join(l.folder, "copy")); err != nil {
		t.Fatal(err)
	}
	if _, err := l.Append(ctx, r.ID, done("bench", 6, 6, 9)); err != nil {
		t.Fatal(err)
	}
	os.Remove(l.path + "-wal")
	os.Remove(l.path + "-shm")
	if err := os.Rename(filepath.Join(l.folder, "copy"), l.path); err != nil {
		t.Fatal(err)
	}
	a, err := l.Append(ctx, r.ID, done("bench", 10, 10, 10))
	if err != nil || a.State.Next != 6 || a.Outcomes[0].Verdict != Conflict {
		t.Fatalf("%+v, %v", a, err)
	}
}

// The same start twice is one run; the same id for another job is refused.
func TestStartTwice(t *testing.T) {
	l, r := begun(t)
	ctx := context.Background()
	again, err := l.Start(ctx, Start{ID: r.ID, Frozen: r.Frozen, Device: "tablet", At: time.Now()})
	if err != nil || again.Device != "bench" || again.State.Seq != 1 {
		t.Fatalf("%+v, %v", again, err)
	}
	if _, err := l.Start(ctx, Start{ID: r.ID, Frozen: frozen(t, "waves-in-step")}); err == nil {
		t.Fatal("two jobs have one run")
	}
	if all, err := l.Runs(ctx); err != nil || len(all) != 1 {
		t.Fatalf("%+v, %v", all, err)
	}
	if _, err := l.Run(ctx, "none"); !errors.Is(err, ErrNoRun) {
		t.Fatal(err)
	}
	if _, err := l.Append(ctx, "none", nil); !errors.Is(err, ErrNoRun) {
		t.Fatal(err)
	}
}

// What the log fills in is not taken from the device, and an id is not used twice.
func TestFilledIn(t *testing.T) {
	l, r := begun(t)
	ctx := context.Background()
	e := done("bench", 1, 1, 1)[0]
	e.Settings.Slide, e.Digest, e.Seq = 4711, "x", 99
	if _, err := l.Append(ctx, r.ID, []Event{e, {ID: "n", Kind: Note, Text: "first", Device: "bench", Seen: 1}}); err != nil {
		t.Fatal(err)
	}
	got, err := l.Events(ctx, r.ID, 1)
	if err != nil || len(got) != 2 || got[0].Settings != r.Settings[0] || got[0].Digest != r.Frozen.Digest || got[0].Seq != 2 || got[1].Settings != r.Settings[0] || got[1].At.IsZero() {
		t.Fatalf("%+v, %v", got, err)
	}
	a, err := l.Append(ctx, r.ID, []Event{{ID: "n", Kind: Note, Text: "another", Device: "bench", Seen: 1}, e, {ID: "y", Kind: "sung", Seen: 1}, {ID: "z", Kind: Done, Cut: 161, Seen: 1}, {ID: "w", Kind: Measured, Cut: 1, Seen: 1}})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []Verdict{Refused, Already, Refused, Refused, Refused} {
		if a.Outcomes[i].Verdict != want || a.Outcomes[i].Why == "" {
			t.Errorf("%d: %+v, want %s", i, a.Outcomes[i], want)
		}
	}
	if a.Seq != 3 {
		t.Fatalf("the log has %d events", a.Seq)
	}
}

// Damage done while the program has the log open is found when events are asked
// for, from wherever they are asked for.
func TestDamagedMeanwhile(t *testing.T) {
	l, r := begun(t)
	ctx := context.Background()
	if _, err := l.Append(ctx, r.ID, done("bench", 1, 1, 10)); err != nil {
		t.Fatal(err)
	}
	for after, want := range map[int64]int{-1: 11, 0: 11, 5: 6, 10: 1, 11: 0, 99: 0} {
		if got, err := l.Events(ctx, r.ID, after); err != nil || len(got) != want || want > 0 && got[want-1].Seq != 11 {
			t.Fatalf("after %d: %d events, %v", after, len(got), err)
		}
	}
	tamper(t, l, `UPDATE event SET body = CAST(replace(CAST(body AS TEXT), '"cut":7', '"cut":8') AS BLOB) WHERE seq = 8`)
	for _, after := range []int64{0, 7} {
		var torn *Torn
		if _, err := l.Events(ctx, r.ID, after); !errors.As(err, &torn) || torn.Good != 7 || torn.State.Next != 7 {
			t.Fatalf("after %d: %v", after, err)
		}
	}
}
