package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"brightcut/examples"
)

// TestKilledServer kills the whole program while it counts, at random moments, and
// starts it again on the same folder. After every kill the log holds each count that
// was acknowledged, none that was not sent, each once and in order.
func TestKilledServer(t *testing.T) {
	if os.Getenv("BRIGHTCUT_SLOW") == "" {
		t.Skip("the program is built and killed for half a minute: BRIGHTCUT_SLOW=1; package bench kills its log in the plain run")
	}
	dir := t.TempDir()
	program := filepath.Join(dir, "brightcut")
	if out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	shop := filepath.Join(dir, "shop")
	if err := os.CopyFS(shop, examples.Workshop); err != nil {
		t.Fatal(err)
	}
	// The practice plate with more cuts than can be counted in the time.
	plate := filepath.Join(shop, "parallel-lines.yaml")
	text, err := os.ReadFile(plate)
	if err != nil {
		t.Fatal(err)
	}
	text = bytes.Replace(text, []byte("repeat: 111"), []byte("repeat: 2500"), 1)
	text = bytes.Replace(text, []byte("step: 0.25 mm"), []byte("step: 0.01 mm"), 1)
	if err := os.WriteFile(plate, text, 0o644); err != nil {
		t.Fatal(err)
	}
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 1))

	const run = "6f0d1a52-0000-4000-8000-0000000000aa"
	acknowledged, sent, kills := 0, 0, 0
	for deadline := time.Now().Add(30 * time.Second); time.Now().Before(deadline) && acknowledged < 2500; kills++ {
		address, kill := started(t, program, shop)
		if kills == 0 {
			if _, err := post(address+"/api/runs", map[string]any{"id": run, "job": "parallel-lines"}); err != nil {
				t.Fatal(err)
			}
		}
		logged := counts(t, address, run)
		if len(logged) < acknowledged {
			t.Fatalf("after %d kills the log holds %d counts; %d were acknowledged", kills, len(logged), acknowledged)
		}
		if len(logged) > sent {
			t.Fatalf("after %d kills the log holds %d counts; %d were sent", kills, len(logged), sent)
		}
		for i, e := range logged {
			if e.Cut != i+1 || e.ID != fmt.Sprint("count-", i+1) {
				t.Fatalf("count %d of the log is %+v", i+1, e)
			}
		}
		acknowledged = len(logged)
		moment := time.AfterFunc(time.Duration(20+rng.IntN(900))*time.Millisecond, kill)
		for acknowledged < 2500 {
			sent = max(sent, acknowledged+1)
			at := time.Now().UTC().Format(time.RFC3339Nano)
			answer, err := post(address+"/api/runs/"+run+"/events", map[string]any{"events": []any{map[string]any{"id": fmt.Sprint("count-", acknowledged+1), "kind": "done", "cut": acknowledged + 1, "at": at, "seen": acknowledged + 1}}})
			if err != nil {
				break // killed
			}
			var told struct {
				Outcomes []struct{ Outcome string }
			}
			if err := json.Unmarshal(answer, &told); err != nil || len(told.Outcomes) != 1 || told.Outcomes[0].Outcome != "kept" && told.Outcomes[0].Outcome != "already" {
				t.Fatalf("%v: %s", err, answer)
			}
			acknowledged++
		}
		moment.Stop()
		kill()
	}
	if kills < 3 || acknowledged < 100 {
		t.Errorf("%d kills and %d counts prove little", kills, acknowledged)
	}
	t.Logf("%d kills, %d counts acknowledged, none missing, none invented", kills, acknowledged)
}

// started starts the program on a folder and returns its address and what kills it.
func started(t *testing.T, program, shop string) (address string, kill func()) {
	t.Helper()
	c := exec.Command(program, "open", shop, "--no-browser")
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	for address == "" && lines.Scan() {
		if l := strings.TrimSpace(lines.Text()); strings.HasPrefix(l, "http://") {
			address = strings.TrimSuffix(l, "/")
		}
	}
	if address == "" {
		t.Fatal("the program told no address")
	}
	return address, func() { c.Process.Kill(); c.Wait() }
}

// post sends JSON and returns the answer; an answer that is no success is an error.
func post(url string, body any) ([]byte, error) {
	text, err := json.Marshal(body)
	if err != nil {
		return nil, err
	}
	res, err := http.Post(url, "application/json", bytes.NewReader(text))
	if err != nil {
		return nil, err
	}
	defer res.Body.Close()
	answer, err := io.ReadAll(res.Body)
	if err != nil {
		return nil, err
	}
	if res.StatusCode >= 300 {
		return nil, fmt.Errorf("%s: %.300s", res.Status, answer)
	}
	return answer, nil
}

type counted struct {
	ID, Kind string
	Cut      int
}

func counts(t *testing.T, address, run string) (done []counted) {
	t.Helper()
	res, err := http.Get(address + "/api/runs/" + run + "/events?after=0")
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	var all struct{ Events []counted }
	if err := json.NewDecoder(res.Body).Decode(&all); err != nil {
		t.Fatal(err)
	}
	for _, e := range all.Events {
		if e.Kind == "done" {
			done = append(done, e)
		}
	}
	return done
}
