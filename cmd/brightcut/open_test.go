package main

import (
	"bufio"
	"context"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// opened runs the command open until stop is called, which returns its exit code
// and all that it printed.
func opened(t *testing.T, args ...string) (address string, stop func() (code int, printed string)) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	t.Cleanup(cancel)
	read, write := io.Pipe()
	ended := make(chan int, 1)
	go func() {
		code := run(console{ctx, write, io.Discard}, append([]string{"open", "--no-browser"}, args...))
		write.Close()
		ended <- code
	}()
	lines := bufio.NewScanner(read)
	printed := ""
	for address == "" && lines.Scan() {
		printed += lines.Text() + "\n"
		if line := strings.TrimSpace(lines.Text()); strings.HasPrefix(line, "http://127.0.0.1:") {
			address = line
		}
	}
	go io.Copy(io.Discard, read)
	if address == "" {
		t.Fatalf("open printed no address:\n%s", printed)
	}
	return address, func() (int, string) {
		cancel()
		select {
		case code := <-ended:
			return code, printed
		case <-time.After(10 * time.Second):
			t.Fatal("open goes on")
			return 0, ""
		}
	}
}

func get(t *testing.T, address string) string {
	t.Helper()
	res, err := http.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != http.StatusOK {
		t.Fatal(res.Status, err)
	}
	return string(text)
}

// Open serves the page and the workshop on a port of this machine and ends when
// it is told to. Without a folder it makes a copy of the example workshop, once.
func TestOpen(t *testing.T) {
	home := t.TempDir()
	for _, name := range []string{"HOME", "XDG_CONFIG_HOME", "AppData"} {
		t.Setenv(name, home)
	}
	base, err := os.UserConfigDir()
	if err != nil {
		t.Fatal(err)
	}
	own := filepath.Join(base, "brightcut", "workshop")
	address, stop := opened(t)
	if page := get(t, address); !strings.Contains(page, "Brightcut") {
		t.Errorf("the page is %.200s", page)
	}
	if shelf := get(t, address+"api/workshop"); !strings.Contains(shelf, `"title":"Barleycorn panel","units"`) {
		t.Errorf("the shelf is %.200s", shelf)
	}
	code, printed := stop()
	if code != exitWell || !strings.Contains(printed, own) {
		t.Errorf("it ended with %d and had said:\n%s", code, printed)
	}
	if err := os.Remove(filepath.Join(own, "barleycorn.yaml")); err != nil {
		t.Fatal(err)
	}
	address, stop = opened(t)
	if shelf := get(t, address+"api/workshop"); strings.Contains(shelf, `"title":"Barleycorn panel","units"`) || !strings.Contains(shelf, "Sunburst dial") {
		t.Errorf("what was thrown away is back: %.200s", shelf)
	}
	stop()
	address, stop = opened(t, t.TempDir())
	if shelf := get(t, address+"api/workshop"); !strings.Contains(shelf, `"jobs":[]`) {
		t.Errorf("an empty folder has %.200s", shelf)
	}
	stop()
}
