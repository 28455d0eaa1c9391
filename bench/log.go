package bench

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"sync"

	_ "modernc.org/sqlite" // the database
)

// FileName is the log's file in the workshop's folder.
const FileName = "bench.sqlite"

// version of the tables, in the file's user_version.
const version = 1

// application marks the file as a log of this program (PRAGMA application_id).
const application = 0x42437574 // "BCut"

// tables are made once. What is in the log stays as it is.
const tables = `
CREATE TABLE file (digest TEXT PRIMARY KEY, body BLOB NOT NULL) STRICT;
CREATE TABLE run (number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, head BLOB NOT NULL) STRICT;
CREATE TABLE event (
	run TEXT NOT NULL REFERENCES run (id),
	seq INTEGER NOT NULL,
	id TEXT NOT NULL,
	body BLOB NOT NULL,
	chain BLOB NOT NULL,
	PRIMARY KEY (run, seq), UNIQUE (run, id)) STRICT;
CREATE TRIGGER file_stays BEFORE UPDATE ON file BEGIN SELECT RAISE(ABORT, 'the log is only ever added to'); END;
CREATE TRIGGER file_kept BEFORE DELETE ON file BEGIN SELECT RAISE(ABORT, 'the log is only ever added to'); END;
CREATE TRIGGER run_stays BEFORE UPDATE ON run BEGIN SELECT RAISE(ABORT, 'the log is only ever added to'); END;
CREATE TRIGGER run_kept BEFORE DELETE ON run BEGIN SELECT RAISE(ABORT, 'the log is only ever added to'); END;
CREATE TRIGGER event_stays BEFORE UPDATE ON event BEGIN SELECT RAISE(ABORT, 'the log is only ever added to'); END;
CREATE TRIGGER event_kept BEFORE DELETE ON event BEGIN SELECT RAISE(ABORT, 'the log is only ever added to'); END;
`

// Log is the log of the runs of a workshop. It may be used by several goroutines,
// and several processes may have it open.
type Log struct {
	folder string
	path   string

	mu      sync.Mutex
	db      *sql.DB     // nil while there is no file
	keep    *sql.Conn   // stays open: with the last connection the file beside the log would go
	is      os.FileInfo // the file that db has open
	wal     os.FileInfo // the file beside it, since the first event
	locked  bool        // opened for reading only
	live    map[string]*live
	closed  bool
	summary map[string]Summary
}

// Open opens the log in a workshop's folder. Without a file the log is empty, and
// the first Start makes one.
func Open(folder string) (*Log, error) {
	folder, err := filepath.Abs(folder)
	if err != nil {
		return nil, fmt.Errorf("open the log of runs: %w", err)
	}
	l := &Log{folder: folder, path: filepath.Join(folder, FileName), live: map[string]*live{}, summary: map[string]Summary{}}
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.attach(context.Background()); err != nil {
		return nil, err
	}
	return l, nil
}

// Close closes the log.
func (l *Log) Close() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.closed = true
	return l.detach()
}

// detach lets go of the file.
func (l *Log) detach() error {
	clear(l.live)
	clear(l.summary)
	l.is, l.wal = nil, nil
	if l.db == nil {
		return nil
	}
	l.keep.Close()
	err := l.db.Close()
	l.db, l.keep = nil, nil
	return err
}

// attach opens the file if there is one, and again when another has taken its
// place.
func (l *Log) attach(ctx context.Context) error {
	if l.closed {
		return errors.New("the log of runs is closed")
	}
	info, err := os.Stat(l.path)
	if errors.Is(err, os.ErrNotExist) {
		return nil // what it still has open can be read
	}
	if err != nil {
		return fmt.Errorf("open the log of runs %s: %w", FileName, err)
	}
	if l.db != nil {
		if os.SameFile(info, l.is) {
			return nil
		}
		l.detach()
	}
	if !info.Mode().IsRegular() {
		return fmt.Errorf("open the log of runs: %s is not a plain file; move it away", FileName)
	}
	if info.Size() == 0 { // made, and not yet written: the first Start will
		return nil
	}
	return l.openFile(ctx)
}

// openFile opens the file for writing, or for reading where the folder does not
// allow more.
func (l *Log) openFile(ctx context.Context) error {
	db, err := connect(ctx, l.path, false)
	if err != nil && unwritable(err) {
		if wal, e := os.Stat(l.path + "-wal"); e == nil && wal.Size() > 0 {
			return fmt.Errorf("open the log of runs: the folder cannot be written, and %s-wal holds events that must be brought into %s first; make the folder writable, or copy both to where you may write: %w", FileName, FileName, err)
		}
		if db, err = connect(ctx, l.path, true); err == nil {
			l.locked = true
		}
	} else if err == nil {
		l.locked = false
	}
	if err != nil {
		return opening(err)
	}
	info, err := os.Stat(l.path)
	var keep *sql.Conn
	if err == nil {
		keep, err = db.Conn(ctx)
	}
	if err != nil {
		db.Close()
		return opening(err)
	}
	l.db, l.keep, l.is = db, keep, info
	return nil
}

// create makes the file of a new log.
func (l *Log) create(ctx context.Context) error {
	db, err := open(l.path, false)
	if err != nil {
		return err
	}
	defer db.Close()
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	var is int
	if err := tx.QueryRowContext(ctx, "PRAGMA user_version").Scan(&is); err != nil {
		return err
	}
	if is == 0 { // otherwise another process was quicker
		for _, do := range []string{tables, fmt.Sprintf("PRAGMA application_id = %d", application), fmt.Sprintf("PRAGMA user_version = %d", version)} {
			if _, err := tx.ExecContext(ctx, do); err != nil {
				return err
			}
		}
	}
	if err := tx.Commit(); err != nil {
		return err
	}
	if d, err := os.Open(l.folder); err == nil { // the new name itself; some systems cannot
		d.Sync()
		d.Close()
	}
	return nil
}

// open prepares connections to the file at path.
func open(path string, readOnly bool) (*sql.DB, error) {
	at := url.URL{Scheme: "file", Path: filepath.ToSlash(path)}
	q := "?_txlock=immediate&_pragma=busy_timeout(2500)&_pragma=synchronous(FULL)&_pragma=foreign_keys(1)&_pragma=trusted_schema(0)"
	if readOnly {
		q += "&mode=ro&immutable=1"
	} else {
		q += "&_pragma=journal_mode(WAL)"
	}
	db, err := sql.Open("sqlite", at.String()+q)
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(5)
	db.SetMaxIdleConns(5)
	return db, nil
}

// connect opens a file that must be a log of this version.
func connect(ctx context.Context, path string, readOnly bool) (*sql.DB, error) {
	db, err := open(path, readOnly)
	if err != nil {
		return nil, err
	}
	var id, is int
	err = db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&is)
	if err == nil {
		err = db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id)
	}
	switch {
	case err != nil:
	case id != application:
		err = fmt.Errorf("%s is not a log of this program; move it away", FileName)
	case is != version:
		err = fmt.Errorf("%s was written by another version of the program (tables of version %d, this program has %d); use that version, or move the file away", FileName, is, version)
	}
	if err != nil {
		db.Close()
		return nil, err
	}
	return db, nil
}
