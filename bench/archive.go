package bench

import (
	"archive/zip"
	"bufio"
	"bytes"
	"context"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
)

// What the file of a run may hold at most, in bytes.
const (
	mostArchive = 256 << 20 // as it comes
	mostLog     = 512 << 20 // its events, unpacked
	mostLine    = 64 << 10  // one event
	mostHead    = 1 << 20
)

// The entries of the file of a run: a ZIP archive with the head of the run, its
// events as JSON lines, the settings of every cut and the frozen files as they
// were read.
const (
	headEntry     = "run.json"
	eventsEntry   = "events.jsonl"
	settingsEntry = "settings.txt"
	filesFolder   = "files/"
)

// sealed is the head as the file has it: as bytes, since the chain begins with
// them, and the end of the chain.
type sealed struct {
	Head   json.RawMessage `json:"head"`
	Events int64           `json:"events"`
	Chain  string          `json:"chain"` // SHA-256 of the last event and all before it, hex
}

// Export writes a run as one file.
func (l *Log) Export(ctx context.Context, run string, w io.Writer) error {
	r, text, bodies, err := l.whole(ctx, run)
	if err != nil {
		return err
	}
	z := zip.NewWriter(w)
	put := func(name string, body []byte) error {
		f, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate}) // no times: the same run gives the same bytes
		if err == nil {
			_, err = f.Write(body)
		}
		return err
	}
	head, err := json.Marshal(sealed{text, int64(len(bodies)), hex.EncodeToString(r.chain)})
	if err == nil {
		err = put(headEntry, head)
	}
	if err == nil {
		err = put(eventsEntry, append(bytes.Join(bodies, []byte("\n")), '\n'))
	}
	if err == nil {
		err = put(settingsEntry, r.settingsBytes)
	}
	for _, f := range r.head.Files {
		if err == nil {
			err = put(filesFolder+f.Name, r.files[f.Name])
		}
	}
	if err == nil {
		err = z.Close()
	}
	if err != nil {
		return fmt.Errorf("write the file of run %s: %w", run, err)
	}
	return nil
}

// carried is a run on its way into or out of a file.
type carried struct {
	*live
	files         map[string][]byte
	settingsBytes []byte
}

// whole reads all that the log has of a run.
func (l *Log) whole(ctx context.Context, run string) (*carried, []byte, [][]byte, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.attach(ctx); err != nil {
		return nil, nil, nil, err
	}
	if l.db == nil {
		return nil, nil, nil, fmt.Errorf("%w: %.80s", ErrNoRun, run)
	}
	r, err := begin(ctx, l.db, run)
	if err != nil {
		return nil, nil, nil, err
	}
	c := &carried{live: r, files: map[string][]byte{}}
	var text []byte
	if err := l.db.QueryRowContext(ctx, "SELECT head FROM run WHERE id = ?", run).Scan(&text); err != nil {
		return nil, nil, nil, err
	}
	var bodies [][]byte
	if err := r.read(ctx, l.db, func(_ Event, body []byte) error { bodies = append(bodies, body); return nil }); err != nil {
		return nil, nil, nil, err
	}
	if c.settingsBytes, err = frozenFile(ctx, l.db, r.head.Settings); err != nil {
		return nil, nil, nil, err
	}
	for _, f := range r.head.Files {
		if c.files[f.Name], err = frozenFile(ctx, l.db, f.Digest); err != nil {
			return nil, nil, nil, fmt.Errorf("read %s of run %s: %w", f.Name, run, err)
		}
	}
	return c, text, bodies, nil
}

// badFile says why the file of a run is refused.
func badFile(format string, args ...any) error {
	return fmt.Errorf("take in the file of a run: "+format, args...)
}

// ErrOtherHistory says that the log has another history of the same run.
var ErrOtherHistory = errors.New("the log has another history of this run; one of the two was counted on by itself")

// Import takes a run in from its file and returns its ID. A run that the log has
// already is taken in again without effect, or carried on where the file has more
// of the same history; with another history it is refused with ErrOtherHistory.
// A file that was altered is refused.
func (l *Log) Import(ctx context.Context, r io.Reader) (string, error) {
	c, text, bodies, err := readArchive(r)
	if err != nil {
		return "", err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return "", err
	}
	if err := l.make(ctx); err != nil {
		return "", err
	}
	id := c.head.ID
	err = l.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		is, err := insert(ctx, tx, &c.head, text, c.files, c.settingsBytes)
		if err != nil {
			return err
		}
		if is == nil { // the log has the run
			var has []byte
			if err := tx.QueryRowContext(ctx, "SELECT head FROM run WHERE id = ?", id).Scan(&has); err != nil {
				return err
			}
			if !bytes.Equal(has, text) {
				return badFile("run %s: %w", id, ErrOtherHistory)
			}
			if is, err = begin(ctx, tx, id); err != nil {
				return err
			}
			err := is.read(ctx, tx, func(e Event, body []byte) error {
				if e.Seq <= int64(len(bodies)) && !bytes.Equal(body, bodies[e.Seq-1]) {
					return badFile("run %s differs from event %d on: %w", id, e.Seq, ErrOtherHistory)
				}
				return nil
			})
			if err != nil {
				return err
			}
		}
		for is.seq < int64(len(bodies)) {
			body := bodies[is.seq]
			chain := link(is.chain, body)
			e, err := readBody(body)
			if err != nil {
				return badFile("event %d cannot be read: %w", is.seq+1, err)
			}
			if _, err := tx.ExecContext(ctx, "INSERT INTO event (run, seq, id, body, chain) VALUES (?, ?, ?, ?, ?)", id, e.Seq, e.ID, body, chain); err != nil {
				return err
			}
			is.seq, is.chain = e.Seq, chain
		}
		return nil
	})
	delete(l.live, id)
	if err != nil {
		return "", err
	}
	return id, nil
}

// readArchive reads the file of a run and looks whether it hangs together.
func readArchive(r io.Reader) (*carried, []byte, [][]byte, error) {
	packed, err := io.ReadAll(io.LimitReader(r, mostArchive+1))
	if err != nil {
		return nil, nil, nil, badFile("%w", err)
	}
	if len(packed) > mostArchive {
		return nil, nil, nil, badFile("it has more than %d MB", mostArchive>>20)
	}
	z, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
	if err != nil {
		return nil, nil, nil, badFile("it is no file that this program wrote: %w", err)
	}
	if len(z.File) > mostFiles+3 {
		return nil, nil, nil, badFile("it holds %d files, more than %d", len(z.File), mostFiles+3)
	}
	entries := map[string]*zip.File{}
	for _, f := range z.File {
		if entries[f.Name] != nil {
			return nil, nil, nil, badFile("it holds %q twice", f.Name)
		}
		entries[f.Name] = f
	}
	take := func(name string, most int) ([]byte, error) {
		f := entries[name]
		if f == nil {
			return nil, badFile("it has no %s", name)
		}
		delete(entries, name)
		in, err := f.Open()
		if err != nil {
			return nil, badFile("%s cannot be read: %w", name, err)
		}
		defer in.Close()
		body, err := io.ReadAll(io.LimitReader(in, int64(most)+1))
		if err != nil {
			return nil, badFile("%s cannot be read: %w", name, err)
		}
		if len(body) > most {
			return nil, badFile("%s is larger than %d bytes", name, most)
		}
		return body, nil
	}
	text, err := take(headEntry, mostHead)
	if err != nil {
		return nil, nil, nil, err
	}
	var s sealed
	c := &carried{live: &live{}, files: map[string][]byte{}}
	if err := json.Unmarshal(text, &s); err != nil {
		return nil, nil, nil, badFile("%s cannot be read: %w", headEntry, err)
	}
	if err := json.Unmarshal(s.Head, &c.head); err != nil {
		return nil, nil, nil, badFile("%s cannot be read: %w", headEntry, err)
	}
	if why := c.head.unfit(); why != "" {
		return nil, nil, nil, badFile("%s", why)
	}
	if c.settingsBytes, err = take(settingsEntry, mostFrozen); err != nil {
		return nil, nil, nil, err
	}
	if digestOf(c.settingsBytes) != c.head.Settings {
		return nil, nil, nil, badFile("%s is not as it was written", settingsEntry)
	}
	if c.settings, err = readSettings(c.settingsBytes, c.head.Strokes); err != nil {
		return nil, nil, nil, badFile("%w", err)
	}
	left := mostFrozen
	for _, f := range c.head.Files {
		body, err := take(filesFolder+f.Name, left)
		if err != nil {
			return nil, nil, nil, err
		}
		left -= len(body)
		if digestOf(body) != f.Digest {
			return nil, nil, nil, badFile("%s is not as it was written", f.Name)
		}
		c.files[f.Name] = body
	}
	frozen, err := thaw(c.head.Job+extension, c.files)
	if err != nil {
		return nil, nil, nil, badFile("%w", err)
	}
	if frozen.Digest != c.head.Digest {
		return nil, nil, nil, badFile("its files are not those that the run was started with")
	}
	bodies, err := c.take(entries[eventsEntry], s)
	if err != nil {
		return nil, nil, nil, err
	}
	delete(entries, eventsEntry)
	for name := range entries {
		return nil, nil, nil, badFile("it holds %q, which does not belong to a run", name)
	}
	return c, s.Head, bodies, nil
}

// take reads the events of a file and follows their chain to its end.
func (c *carried) take(f *zip.File, s sealed) ([][]byte, error) {
	if f == nil {
		return nil, badFile("it has no %s", eventsEntry)
	}
	in, err := f.Open()
	if err != nil {
		return nil, badFile("%s cannot be read: %w", eventsEntry, err)
	}
	defer in.Close()
	c.tally, c.chain = NewTally(c.head.Strokes), link(nil, s.Head)
	var bodies [][]byte
	lines := bufio.NewScanner(io.LimitReader(in, mostLog+1))
	lines.Buffer(nil, mostLine)
	size := 0
	for lines.Scan() {
		body := bytes.Clone(lines.Bytes())
		if size += len(body) + 1; size > mostLog || len(bodies) == mostEvents {
			return nil, badFile("it has more events than a log takes")
		}
		e, err := readBody(body)
		if err != nil {
			return nil, badFile("event %d cannot be read: %w", c.seq+1, err)
		}
		if e.Seq != c.seq+1 {
			return nil, badFile("event %d is missing", c.seq+1)
		}
		if _, ok := c.tally.ids[e.ID]; ok {
			return nil, badFile("event %d has the id of an earlier one", e.Seq)
		}
		if out := c.tally.Take(e); out.Verdict == Refused {
			return nil, badFile("event %d is none that a log would take: %s", e.Seq, out.Why)
		}
		c.seq, c.chain = e.Seq, link(c.chain, body)
		bodies = append(bodies, body)
	}
	if err := lines.Err(); err != nil {
		return nil, badFile("%s cannot be read: %w", eventsEntry, err)
	}
	if c.seq != s.Events || hex.EncodeToString(c.chain) != s.Chain {
		return nil, badFile("its events are not as they were written")
	}
	return bodies, nil
}

// unfit says why a head can be that of no run.
func (h *head) unfit() string {
	switch {
	case h.Format != 1:
		return fmt.Sprintf("it is of format %d, and this program knows format 1", h.Format)
	case !validID(h.ID):
		return "its id is none that a run has"
	case h.Strokes < 1 || h.Strokes > mostStrokes:
		return fmt.Sprintf("it has %d cuts", h.Strokes)
	case len(h.Files) > mostFiles:
		return fmt.Sprintf("it has %d frozen files", len(h.Files))
	case len(h.Title) > mostText*4 || len(h.Device) > mostText*4 || h.Job == "" || len(h.Job) > 200 || strings.ContainsAny(h.Job, "/\\"):
		return "its names are none that a run has"
	}
	for _, f := range h.Files {
		if f.Name == "" || len(f.Name) > 400 || path.Clean(f.Name) != f.Name || path.IsAbs(f.Name) || strings.HasPrefix(f.Name, "../") || strings.ContainsAny(f.Name, "\\:") {
			return fmt.Sprintf("%.60q is not a file of a workshop", f.Name)
		}
	}
	return ""
}
