//go:build unix

package bench

import (
	"bufio"
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"brightcut/examples"
)

// childEnv has the test binary be one of its children.
const childEnv = "BRIGHTCUT_BENCH_CHILD"

func TestMain(m *testing.M) {
	child, folder, _ := strings.Cut(os.Getenv(childEnv), "|")
	var err error
	switch child {
	case "":
		os.Exit(m.Run())
	case "count":
		err = countForEver(folder)
	case "limit":
		err = countToTheLimit(folder)
	case "full":
		err = countOnASmallDisk(folder)
	case "nobody":
		err = countAsNobody(folder)
	}
	if err != nil {
		fmt.Println("failed:", err)
		os.Exit(1)
	}
	os.Exit(0)
}

// child runs the test binary as one of its children.
func child(name, folder string) *exec.Cmd {
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), childEnv+"="+name+"|"+folder)
	c.Stderr = os.Stderr
	return c
}

// sent is the k-th event, from 1, of an endless count; the log has it at k + 1.
// The panel is counted through, placed at its beginning, and counted again.
func sent(k int) Event {
	e := Event{ID: fmt.Sprint("k", k), Device: "bench", Seen: int64(k), At: time.Unix(int64(k), 0).UTC()}
	if c := (k - 1) % 161; c < 160 {
		e.Kind, e.Cut = Done, c+1
	} else {
		e.Kind, e.Cut = Placed, 1
	}
	return e
}

// countForEver counts on from where the log ends, says what it is about to send
// and what was acknowledged, and ends only when it is killed.
func countForEver(folder string) error {
	ctx := context.Background()
	l, err := Open(folder)
	if err != nil {
		return err
	}
	f, err := Freeze(examples.Workshop, "barleycorn.yaml")
	if err != nil {
		return err
	}
	r, err := l.Start(ctx, Start{ID: "run", Frozen: f, Device: "bench", At: time.Unix(0, 0)})
	if err != nil {
		return err
	}
	for k := int(r.State.Seq); ; {
		var batch []Event
		for range 1 + k%3 {
			batch = append(batch, sent(k))
			k++
		}
		os.Stdout.WriteString(fmt.Sprintf("send %d\n", k-1))
		a, err := l.Append(ctx, "run", batch)
		if err != nil {
			return err
		}
		for _, o := range a.Outcomes {
			if o.Verdict != Kept {
				return fmt.Errorf("%+v", o)
			}
		}
		os.Stdout.WriteString(fmt.Sprintf("kept %d\n", k-1))
	}
}

// lastSaid reads the greatest numbers that a child said to have sent and kept.
func lastSaid(out []byte) (sent, kept int, err error) {
	for line := range bytes.Lines(out) {
		word, number, ok := strings.Cut(string(line), " ")
		if !ok || !strings.HasSuffix(number, "\n") {
			if strings.HasPrefix(word, "failed") {
				return 0, 0, errors.New(string(out))
			}
			continue // cut off by the kill
		}
		n := 0
		if _, err := fmt.Sscan(number, &n); err != nil {
			return 0, 0, errors.New(string(line))
		}
		if word == "send" {
			sent = max(sent, n)
		} else {
			kept = max(kept, n)
		}
	}
	return sent, kept, nil
}

// holds checks that the log has exactly the first events that were sent, its
// chain whole, and returns how many.
func holds(folder string) (int, error) {
	l, err := Open(folder)
	if err != nil {
		return 0, err
	}
	defer l.Close()
	all, err := l.Events(context.Background(), "run", 1)
	if err != nil {
		return 0, err
	}
	for i, e := range all {
		if want := sent(i + 1); !same(want, e) || e.Seq != int64(i+2) {
			return 0, fmt.Errorf("event %d of the log is %+v; sent was %+v", i+2, e, want)
		}
	}
	r, err := l.Run(context.Background(), "run")
	if err != nil {
		return 0, err
	}
	if want := len(all)%161 + 1; r.State.Next != want {
		return 0, fmt.Errorf("after %d counts cut %d is the next, want %d", len(all), r.State.Next, want)
	}
	return len(all), nil
}

// A counting process is killed at random moments, over and over: after every kill
// all that was acknowledged is in the log, in its order, and nothing that was not
// sent. A kill leaves what the system has not yet written to the system, so this
// proves the order of writing and answering; TestTornTail looks at what a loss of
// power leaves.
func TestKilled(t *testing.T) {
	span := 3 * time.Second
	if os.Getenv("BRIGHTCUT_SLOW") != "" {
		span = 55 * time.Second
	}
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 1))
	folder := t.TempDir()
	kills, has := 0, 0
	for until := time.Now().Add(span); time.Now().Before(until) || has < 30 && time.Now().Before(until.Add(4*span)); kills++ {
		c := child("count", folder)
		pipe, err := c.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		var out bytes.Buffer
		if random.IntN(8) > 0 { // otherwise it may be killed while it opens the log
			b := bufio.NewReader(pipe)
			line, _ := b.ReadString('\n')
			out.WriteString(line)
			time.AfterFunc(time.Duration(random.IntN(120_000))*time.Microsecond, func() { c.Process.Kill() })
			io.Copy(&out, b)
		} else {
			time.AfterFunc(time.Duration(random.IntN(120_000))*time.Microsecond, func() { c.Process.Kill() })
			io.Copy(&out, pipe)
		}
		c.Wait()
		said, kept, err := lastSaid(out.Bytes())
		if err != nil {
			t.Fatalf("kill %d, seed %d: %v", kills, seed, err)
		}
		n, err := holds(folder)
		if errors.Is(err, ErrNoRun) && kept == 0 && has == 0 {
			continue // killed before the run was started
		}
		if err != nil {
			t.Fatalf("kill %d, seed %d: %v", kills, seed, err)
		}
		if n < kept || n < has {
			t.Fatalf("kill %d, seed %d: the log has %d events, and %d were acknowledged", kills, seed, n, max(kept, has))
		}
		if n > max(said, has) {
			t.Fatalf("kill %d, seed %d: the log has %d events, and %d were sent", kills, seed, n, said)
		}
		has = n
	}
	if has < 10 {
		t.Fatalf("only %d events were counted: the test says nothing", has)
	}
	t.Logf("%d events over %d kills", has, kills)
}

// counted makes a log of n events whose later part is still in the file beside
// it, and returns the bytes of both as a loss of power may find them.
func countedLog(t *testing.T, n int) (file, wal []byte) {
	t.Helper()
	ctx := context.Background()
	l, err := Open(memory(t))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := l.Start(ctx, Start{ID: "run", Frozen: frozen(t, "barleycorn"), Device: "bench"}); err != nil {
		t.Fatal(err)
	}
	for k := 1; k <= n/2; k++ {
		if _, err := l.Append(ctx, "run", []Event{sent(k)}); err != nil {
			t.Fatal(err)
		}
	}
	l.Close() // brings all into the file
	if l, err = Open(l.folder); err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	for k := n/2 + 1; k <= n; k++ {
		if _, err := l.Append(ctx, "run", []Event{sent(k)}); err != nil {
			t.Fatal(err)
		}
	}
	if file, err = os.ReadFile(l.path); err != nil {
		t.Fatal(err)
	}
	if wal, err = os.ReadFile(l.path + "-wal"); err != nil || len(wal) < 10_000 {
		t.Fatalf("the file beside the log has %d bytes, %v", len(wal), err)
	}
	return file, wal
}

// memory is a folder in memory where there is one: a torn log is torn alike on any
// disk, and a slow one would only make the test slow.
func memory(t testing.TB) string {
	folder, err := os.MkdirTemp("/dev/shm", "bench")
	if err != nil {
		return t.TempDir()
	}
	t.Cleanup(func() { os.RemoveAll(folder) })
	return folder
}

func putLog(t *testing.T, file, wal []byte) string {
	t.Helper()
	folder := memory(t)
	if err := os.WriteFile(filepath.Join(folder, FileName), file, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, FileName+"-wal"), wal, 0o644); err != nil {
		t.Fatal(err)
	}
	return folder
}

// Whatever becomes of the tail of the file beside the log, what is read is the
// first part of what was sent, its chain whole, and counting goes on from there.
// Events that were acknowledged can be missing here, since the tearing undoes what
// the disk had said to have written; that none is missing up to the place of the
// tear is checked.
func TestTornTail(t *testing.T) {
	const n = 60
	file, wal := countedLog(t, n)
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 2))
	times := 80
	if os.Getenv("BRIGHTCUT_SLOW") != "" {
		times = 2000
	}
	fewest, most := n, 0
	for i := range times {
		at := random.IntN(len(wal) + 1)
		torn := bytes.Clone(wal)
		how := []string{"cut off", "zeroed", "rubbish", "one byte changed"}[i%4]
		switch how {
		case "cut off":
			torn = torn[:at]
		case "zeroed":
			clear(torn[at:])
		case "rubbish":
			for j := at; j < len(torn); j++ {
				torn[j] = byte(random.Uint32())
			}
		case "one byte changed":
			if at < len(torn) {
				torn[at] ^= 1 << random.IntN(8)
			}
		}
		folder := putLog(t, file, torn)
		got, err := holds(folder)
		if err != nil {
			t.Fatalf("seed %d: %s at byte %d of %d: %v", seed, how, at, len(wal), err)
		}
		// Every event is a transaction of its own and takes some frames in turn, so
		// at least those whose frames end before the tear must be there.
		if sure := n/2 + at/(len(wal)/(n-n/2)) - 4; got < min(sure, n) || got < n/2 || got > n {
			t.Fatalf("seed %d: %s at byte %d of %d leaves %d events; want %d at least", seed, how, at, len(wal), got, sure)
		}
		fewest, most = min(fewest, got), max(most, got)
		l, err := Open(folder)
		if err != nil {
			t.Fatal(err)
		}
		if a, err := l.Append(context.Background(), "run", []Event{sent(got + 1)}); err != nil || a.Outcomes[0].Verdict != Kept {
			t.Fatalf("seed %d: %s at %d: counting on: %+v, %v", seed, how, at, a, err)
		}
		l.Close()
	}
	if fewest > n/2+5 || most < n-5 {
		t.Fatalf("the tears left from %d to %d of %d events: they were not spread over the file", fewest, most, n)
	}
}

// Power lost while the file beside the log is brought into it: pages of the log are
// torn, and the file beside it is whole. Nothing is lost.
func TestTornWhileGathering(t *testing.T) {
	const n = 60
	file, wal := countedLog(t, n)
	page := int(binary.BigEndian.Uint32(wal[8:])) // the format is that of sqlite.org/fileformat2.html, section 4
	var pages []int
	for at := 32; at+24+page <= len(wal); at += 24 + page {
		if p := int(binary.BigEndian.Uint32(wal[at:])); p > 1 && p*page <= len(file) { // the first holds the format of the file
			pages = append(pages, p)
		}
	}
	if len(pages) == 0 {
		t.Fatal("no page is in both files")
	}
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 3))
	for range 40 {
		torn := bytes.Clone(file)
		for range 1 + random.IntN(4) {
			p := pages[random.IntN(len(pages))]
			from := (p-1)*page + random.IntN(page)
			for j := from; j < p*page; j++ {
				torn[j] = byte(random.Uint32())
			}
		}
		if got, err := holds(putLog(t, torn, wal)); err != nil || got != n {
			t.Fatalf("seed %d: %d events of %d, %v", seed, got, n, err)
		}
	}
}

func run(t *testing.T, name, folder string) string {
	t.Helper()
	out, err := child(name, folder).Output()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return strings.TrimSpace(string(out))
}

// countUntilRefused counts until the disk takes no more, looks whether the count
// stands where the log does, lets room be made and counts on.
func countUntilRefused(folder string, tight, room func() error) error {
	ctx := context.Background()
	l, err := Open(folder)
	if err != nil {
		return err
	}
	f, err := Freeze(examples.Workshop, "barleycorn.yaml")
	if err != nil {
		return err
	}
	if _, err := l.Start(ctx, Start{ID: "run", Frozen: f, Device: "bench"}); err != nil {
		return err
	}
	if err := tight(); err != nil {
		return err
	}
	k, kept := 1, error(nil)
	for ; k < 5000 && kept == nil; k++ {
		_, kept = l.Append(ctx, "run", []Event{sent(k)})
	}
	k-- // this one was refused
	var why *NotKept
	if !errors.Is(kept, ErrNotKept) || !errors.As(kept, &why) || why.Mend == "" {
		return fmt.Errorf("event %d: %v", k, kept)
	}
	r, err := l.Run(ctx, "run")
	if err != nil {
		return fmt.Errorf("read while full: %w", err)
	}
	if r.State.Seq != int64(k) {
		return fmt.Errorf("the count stands at event %d, and %d was the last kept", r.State.Seq, k)
	}
	if _, again := l.Append(ctx, "run", []Event{sent(k)}); !errors.Is(again, ErrNotKept) {
		return fmt.Errorf("event %d sent again: %v", k, again)
	}
	if err := room(); err != nil {
		return err
	}
	for range 20 {
		a, err := l.Append(ctx, "run", []Event{sent(k)})
		if err != nil || a.Outcomes[0].Verdict != Kept {
			return fmt.Errorf("event %d with room again: %+v, %v", k, a, err)
		}
		k++
	}
	if err := l.Close(); err != nil {
		return err
	}
	if n, err := holds(folder); err != nil || n != k-1 {
		return fmt.Errorf("%d events in the log, want %d: %v", n, k-1, err)
	}
	fmt.Printf("refused after %d events: %s\n", k-21, kept)
	return nil
}

// countToTheLimit counts against a limit on the size of files.
func countToTheLimit(folder string) error {
	signal.Ignore(syscall.SIGXFSZ)
	var limit syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_FSIZE, &limit); err != nil {
		return err
	}
	set := func(size uint64) error {
		l := limit
		l.Cur = size
		return syscall.Setrlimit(syscall.RLIMIT_FSIZE, &l)
	}
	return countUntilRefused(folder, func() error { return set(400_000) }, func() error { return set(limit.Cur) })
}

// A file that may grow no further stands for a full disk where none can be had.
func TestFileLimit(t *testing.T) {
	if out := run(t, "limit", t.TempDir()); !strings.Contains(out, "Nothing was counted: ") {
		t.Fatal(out)
	}
}

// countAsNobody opens a log in a folder that it may only read.
func countAsNobody(folder string) error {
	ctx := context.Background()
	if os.Getuid() == 0 {
		if err := syscall.Setuid(65534); err != nil {
			return err
		}
	}
	l, err := Open(folder)
	if err != nil {
		return err
	}
	defer l.Close()
	all, err := l.Runs(ctx)
	if err != nil {
		return err
	}
	f, err := Freeze(examples.Workshop, "barleycorn.yaml")
	if err != nil {
		return err
	}
	if len(all) == 0 {
		_, err = l.Start(ctx, Start{ID: "run", Frozen: f})
	} else {
		if all[0].State.Next != 11 {
			return fmt.Errorf("the log stands at %+v", all[0].State)
		}
		_, err = l.Append(ctx, "run", []Event{sent(11)})
	}
	if !errors.Is(err, ErrNotKept) {
		return fmt.Errorf("%d runs; %v", len(all), err)
	}
	fmt.Println(err)
	return nil
}

// A folder that may not be written is read, and nothing is counted in it. The
// children give up the superuser's rights, whom no folder refuses.
func TestReadOnlyFolder(t *testing.T) {
	ctx := context.Background()
	folder := t.TempDir()
	os.Chmod(filepath.Dir(folder), 0o755)
	lock := func(mode, files os.FileMode) {
		all, _ := filepath.Glob(filepath.Join(folder, "*"))
		for _, f := range all {
			os.Chmod(f, files)
		}
		os.Chmod(folder, mode)
	}
	lock(0o555, 0o444)
	defer lock(0o755, 0o644)
	if out := run(t, "nobody", folder); !strings.Contains(out, "Nothing was counted: ") {
		t.Fatal(out)
	}
	lock(0o755, 0o644)
	l, err := Open(folder)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := l.Start(ctx, Start{ID: "run", Frozen: frozen(t, "barleycorn")}); err != nil {
		t.Fatal(err)
	}
	for k := 1; k <= 10; k++ {
		if _, err := l.Append(ctx, "run", []Event{sent(k)}); err != nil {
			t.Fatal(err)
		}
	}
	l.Close()
	lock(0o555, 0o444)
	if out := run(t, "nobody", folder); !strings.Contains(out, "cannot be written") {
		t.Fatal(out)
	}
}
