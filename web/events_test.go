package web

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

type heard struct {
	name string
	data map[string]any
}

// listen opens the stream of events of a client.
func (b *served) listen(client string) <-chan heard {
	b.t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	b.t.Cleanup(cancel)
	q, err := http.NewRequestWithContext(ctx, "GET", b.http.URL+"/api/events?client="+client, nil)
	if err != nil {
		b.t.Fatal(err)
	}
	res, err := http.DefaultTransport.RoundTrip(q)
	if err != nil {
		b.t.Fatal(err)
	}
	if res.StatusCode != 200 || res.Header.Get("Content-Type") != "text/event-stream" {
		b.t.Fatalf("events: %d %s", res.StatusCode, res.Header.Get("Content-Type"))
	}
	out := make(chan heard, 100)
	go func() {
		defer close(out)
		defer res.Body.Close()
		lines := bufio.NewScanner(res.Body)
		name := ""
		for lines.Scan() {
			if n, ok := strings.CutPrefix(lines.Text(), "event: "); ok {
				name = n
			}
			if d, ok := strings.CutPrefix(lines.Text(), "data: "); ok {
				h := heard{name: name}
				json.Unmarshal([]byte(d), &h.data)
				out <- h
			}
		}
	}()
	b.hear(out, "hello", "client", client)
	return out
}

// hear waits for an event of the name with the pairs of keys and values.
func (b *served) hear(from <-chan heard, name string, pairs ...string) heard {
	b.t.Helper()
	late := time.After(5 * time.Second)
	for {
		select {
		case h, ok := <-from:
			if !ok {
				b.t.Fatalf("the stream ended before %s", name)
			}
			fits := h.name == name
			for i := 0; i+1 < len(pairs); i += 2 {
				fits = fits && fmt.Sprint(h.data[pairs[i]]) == pairs[i+1]
			}
			if fits {
				return h
			}
		case <-late:
			b.t.Fatalf("%s %v was not heard", name, pairs)
		}
	}
}

// Every page hears what another page, a text editor or a hand in the folder does.
func TestEvents(t *testing.T) {
	b := newBench(t)
	one, two := b.listen("page-1"), b.listen("page-2")
	v := b.job("hobnail")
	var after view
	b.want(200, "POST", "/api/jobs/hobnail/set", m{"field": "depth", "value": "0.04", "if_revision": v.Revision}, &after)
	for _, ear := range []<-chan heard{one, two} {
		b.hear(ear, "job", "id", "hobnail", "by", "page-1", "revision", after.Revision)
	}
	time.Sleep(60 * time.Millisecond) // the watcher looks, and has nothing to add
	if n := len(two); n != 0 {
		t.Errorf("%d more events of the same change", n)
	}
	path := filepath.Join(b.dir, "hobnail.yaml")
	other := strings.Replace(v.Text, "title:", "title: X", 1)
	if err := os.WriteFile(path, []byte(other), 0o644); err != nil {
		t.Fatal(err)
	}
	b.hear(two, "job", "id", "hobnail", "by", "", "revision", revisionOf([]byte(other))) // the watcher may have seen it half written before
	if now := b.job("hobnail"); now.Revision != revisionOf([]byte(other)) || !strings.HasPrefix(now.Title, "X") {
		t.Errorf("the file is at %s", now.Revision)
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	b.hear(two, "gone", "id", "hobnail", "by", "")
	if err := os.WriteFile(path, []byte(v.Text), 0o644); err != nil {
		t.Fatal(err)
	}
	b.hear(two, "job", "id", "hobnail", "revision", v.Revision)
	cutter := filepath.Join(b.dir, "cutters", "bright-130.yaml")
	if err := os.WriteFile(cutter, []byte("name: Bright\nincluded: 131 deg\nclearance: 15 deg\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	b.hear(two, "part", "kind", "cutters", "id", "bright-130", "by", "")
	b.want(200, "DELETE", "/api/jobs/hobnail", nil, nil)
	b.hear(two, "gone", "id", "hobnail", "by", "page-1")
}

// The same text with a new time is no change.
func TestTouchedIsNotChanged(t *testing.T) {
	b := newBench(t)
	ear := b.listen("page-1")
	soon := time.Now().Add(time.Hour)
	if err := os.Chtimes(filepath.Join(b.dir, "hobnail.yaml"), soon, soon); err != nil {
		t.Fatal(err)
	}
	time.Sleep(100 * time.Millisecond)
	if n := len(ear); n != 0 {
		t.Errorf("%d events", n)
	}
}

// Listeners are bounded, and one that does not read is cut off without holding
// up the others.
func TestListenersAreBounded(t *testing.T) {
	var h hub
	var all []*listener
	for range mostListeners {
		l, ok := h.listen("x")
		if !ok {
			t.Fatal("refused too early")
		}
		all = append(all, l)
	}
	if _, ok := h.listen("x"); ok {
		t.Error("one too many was let in")
	}
	for range mostUnheard {
		h.tell(event{name: "job"})
	}
	h.tell(event{name: "progress", to: "x"}) // is left out, and cuts nobody off
	for len(all[0].events) > 0 {
		<-all[0].events
	}
	h.tell(event{name: "job"})
	if _, open := <-all[0].events; !open || len(h.listeners) != 1 {
		t.Errorf("%d listeners are left; only the one that reads should be", len(h.listeners))
	}
	h.leave(all[0])
	h.leave(all[1]) // twice does no harm
	if len(h.listeners) != 0 {
		t.Error("a listener is left")
	}
}

// Serve ends when it is told to, streams of events with it.
func TestServeEnds(t *testing.T) {
	s, err := New(t.TempDir(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	l, err := Listen(0)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error)
	go func() { ended <- s.Serve(ctx, l) }()
	res, err := http.Get("http://" + l.Addr().String() + "/api/events")
	if err != nil || res.StatusCode != 200 {
		t.Fatal(res, err)
	}
	defer res.Body.Close()
	cancel()
	select {
	case err := <-ended:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(5 * time.Second):
		t.Fatal("it goes on")
	}
}

func TestNewRefuses(t *testing.T) {
	if _, err := New(filepath.Join(t.TempDir(), "nothing"), Options{}); err == nil {
		t.Error("a folder that is not there was opened")
	}
}

// A stream outlives the time that a request may take to be read.
func TestStreamOutlivesReadTimeout(t *testing.T) {
	b := newBench(t)
	h := httptest.NewUnstartedServer(b.server)
	h.Config.ReadTimeout = 100 * time.Millisecond
	h.Start()
	t.Cleanup(func() {
		b.server.stop()
		h.Close()
	})
	b.http = h
	ear := b.listen("page-1")
	time.Sleep(300 * time.Millisecond)
	b.server.hub.tell(event{name: "job", data: changed{ID: "x"}})
	b.hear(ear, "job", "id", "x")
}
