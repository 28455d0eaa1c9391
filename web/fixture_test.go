package web

import (
	"bytes"
	"encoding/json"
	"io"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"brightcut/examples"
)

// served is a server on a copy of the example workshop.
type served struct {
	t      testing.TB
	dir    string
	server *Server
	http   *httptest.Server
	client string
}

func newBench(t testing.TB) *served {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(dir, examples.Workshop); err != nil {
		t.Fatal(err)
	}
	return benchIn(t, dir)
}

func benchIn(t testing.TB, dir string) *served {
	t.Helper()
	s, err := New(dir, Options{Version: "test", Look: 20 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	h := httptest.NewServer(s)
	t.Cleanup(func() {
		s.stop()
		h.Close()
		s.Close()
	})
	return &served{t, dir, s, h, "page-1"}
}

func (b *served) file(name string) string {
	b.t.Helper()
	text, err := os.ReadFile(filepath.Join(b.dir, filepath.FromSlash(name)))
	if err != nil {
		b.t.Fatal(err)
	}
	return string(text)
}

// do sends a request; body is JSON unless it is an io.Reader.
func (b *served) do(method, path string, body any, headers ...string) (*http.Response, []byte) {
	b.t.Helper()
	var r io.Reader
	switch body := body.(type) {
	case nil:
	case io.Reader:
		r = body
	default:
		text, err := json.Marshal(body)
		if err != nil {
			b.t.Fatal(err)
		}
		r = bytes.NewReader(text)
	}
	q, err := http.NewRequest(method, b.http.URL+path, r)
	if err != nil {
		b.t.Fatal(err)
	}
	q.Header.Set("Content-Type", "application/json")
	q.Header.Set("Brightcut-Client", b.client)
	for i := 0; i+1 < len(headers); i += 2 {
		if headers[i] == "Host" {
			q.Host = headers[i+1]
			continue
		}
		q.Header.Set(headers[i], headers[i+1])
	}
	res, err := http.DefaultTransport.RoundTrip(q)
	if err != nil {
		b.t.Fatal(err)
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		b.t.Fatal(err)
	}
	return res, text
}

// get asks and wants the status; out, if not nil, takes the JSON.
func (b *served) want(status int, method, path string, body, out any) []byte {
	b.t.Helper()
	res, text := b.do(method, path, body)
	if res.StatusCode != status {
		b.t.Fatalf("%s %s: %d, want %d: %.500s", method, path, res.StatusCode, status, text)
	}
	if res.StatusCode >= 400 && res.Header.Get("Content-Type") != "application/problem+json" {
		b.t.Fatalf("%s %s: an error as %s", method, path, res.Header.Get("Content-Type"))
	}
	if out != nil {
		d := json.NewDecoder(bytes.NewReader(text))
		d.DisallowUnknownFields()
		if err := d.Decode(out); err != nil {
			b.t.Fatalf("%s %s: %v: %.300s", method, path, err, text)
		}
	}
	return text
}

func (b *served) job(id string) view {
	b.t.Helper()
	var v view
	b.want(200, "GET", "/api/jobs/"+id, nil, &v)
	return v
}

// problem asks and wants an error of the type.
func (b *served) problem(status int, kind, method, path string, body any) problem {
	b.t.Helper()
	var p problem
	b.want(status, method, path, body, &p)
	if p.Type != "/problems/"+kind || p.Status != status || p.Title == "" {
		b.t.Fatalf("%s %s: %+v, want %s", method, path, p, kind)
	}
	return p
}

func exampleIDs(t testing.TB) (ids []string) {
	t.Helper()
	files, err := fs.Glob(examples.Workshop, "*.yaml")
	if err != nil || len(files) < 12 {
		t.Fatal(files, err)
	}
	for _, f := range files {
		ids = append(ids, strings.TrimSuffix(f, ".yaml"))
	}
	return ids
}

type m = map[string]any
