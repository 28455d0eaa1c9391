package web

import (
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Requests from elsewhere are refused: by a name that was rebound to this
// address, from another site's page, by a form, from within a frame's origin.
func TestForeignRequests(t *testing.T) {
	b := newBench(t)
	host := strings.TrimPrefix(b.http.URL, "http://")
	_, port, _ := net.SplitHostPort(host)
	v := b.job("hobnail")
	set := m{"field": "depth", "value": "0.04", "if_revision": v.Revision}
	for _, c := range []struct {
		what, method, path string
		status             int
		headers            []string
	}{
		{"its own page", "GET", "/api/workshop", 200, []string{"Origin", b.http.URL, "Sec-Fetch-Site", "same-origin"}},
		{"by the name localhost", "GET", "/api/workshop", 200, []string{"Host", "localhost:" + port}},
		{"by IPv6", "GET", "/api/workshop", 200, []string{"Host", "[::1]:" + port}},
		{"a link from elsewhere to the page", "GET", "/", 200, []string{"Sec-Fetch-Site", "cross-site"}},
		{"a rebound name", "GET", "/api/workshop", 403, []string{"Host", "attacker.example:" + port}},
		{"a rebound name to the page", "GET", "/", 403, []string{"Host", "attacker.example:" + port}},
		{"a name that begins alike", "GET", "/api/workshop", 403, []string{"Host", "localhost.attacker.example:" + port}},
		{"another port", "GET", "/api/workshop", 403, []string{"Host", "127.0.0.1:1"}},
		{"no port", "GET", "/api/workshop", 403, []string{"Host", "127.0.0.1"}},
		{"another loopback address", "GET", "/api/workshop", 403, []string{"Host", "127.0.0.2:" + port}},
		{"another site reads", "GET", "/api/workshop", 403, []string{"Origin", "https://attacker.example"}},
		{"another site's picture", "GET", "/api/jobs/hobnail/picture.png?pixels=16", 403, []string{"Sec-Fetch-Site", "cross-site"}},
		{"a sister site", "GET", "/api/workshop", 403, []string{"Sec-Fetch-Site", "same-site"}},
		{"another port of this machine", "POST", "/api/jobs/hobnail/set", 403, []string{"Origin", "http://127.0.0.1:1"}},
		{"another site writes", "POST", "/api/jobs/hobnail/set", 403, []string{"Origin", "http://attacker.example"}},
		{"a sandboxed frame", "POST", "/api/jobs/hobnail/set", 403, []string{"Origin", "null"}},
		{"cross-site without an origin", "POST", "/api/jobs/hobnail/set", 403, []string{"Sec-Fetch-Site", "cross-site"}},
		{"the same host by https", "POST", "/api/jobs/hobnail/set", 403, []string{"Origin", "https://" + host}},
		{"a form", "POST", "/api/jobs/hobnail/set", 415, []string{"Content-Type", "text/plain"}},
		{"a form of files", "POST", "/api/jobs/hobnail/set", 415, []string{"Content-Type", "multipart/form-data; boundary=x"}},
		{"an options request", "OPTIONS", "/api/jobs/hobnail/set", 405, []string{"Origin", b.http.URL}},
		{"a foreign delete", "DELETE", "/api/jobs/hobnail", 403, []string{"Sec-Fetch-Site", "cross-site"}},
	} {
		res, text := b.do(c.method, c.path, set, c.headers...)
		if res.StatusCode != c.status {
			t.Errorf("%s: %d, want %d: %.200s", c.what, res.StatusCode, c.status, text)
		}
		if res.Header.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s: others may read", c.what)
		}
		if res.Header.Get("X-Content-Type-Options") != "nosniff" || !strings.Contains(res.Header.Get("Content-Security-Policy"), "default-src 'none'") {
			t.Errorf("%s: the headers are %v", c.what, res.Header)
		}
	}
	if b.file("hobnail.yaml") != v.Text {
		t.Error("a foreign request changed the file")
	}
}

// No name leads out of the folder, nor does a link in it.
func TestNothingOutside(t *testing.T) {
	b := newBench(t)
	outside := t.TempDir()
	secret := filepath.Join(outside, "secret.yaml")
	if err := os.WriteFile(secret, []byte("title: secret\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(secret, filepath.Join(b.dir, "linked.yaml")); err != nil {
		t.Skip("no symbolic links here:", err)
	}
	if err := os.Symlink(outside, filepath.Join(b.dir, "folder")); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(b.dir, "dir.yaml"), 0o755); err != nil {
		t.Fatal(err)
	}
	for _, id := range []string{"..%2fsecret", "%2e%2e%2fsecret", "..%5csecret", "folder%2fsecret", "linked", "%00", ".trash", "con%3a", "dir",
		"engines%2flong-bench", "a%0ab", strings.Repeat("x", 300), "%ff", ".hidden", "%20", "hobnail%2f", "hobnail.yaml%00"} {
		for _, do := range []struct {
			method, path string
			body         any
		}{
			{"GET", "", nil}, {"GET", "/cuts.bin", nil}, {"DELETE", "", nil},
			{"PUT", "", m{"text": "title: x\n", "if_revision": "0000"}},
			{"POST", "/set", m{"field": "title", "value": "x", "if_revision": "0000"}},
		} {
			res, text := b.do(do.method, "/api/jobs/"+id+do.path, do.body)
			if res.StatusCode < 400 && !(id == "linked" && do.method == "DELETE") || strings.Contains(string(text), "title: secret") {
				t.Errorf("%s %s%s: %d %.100s", do.method, id, do.path, res.StatusCode, text)
			}
		}
	}
	if text, err := os.ReadFile(secret); err != nil || string(text) != "title: secret\n" {
		t.Errorf("the file outside is %q, %v", text, err)
	}
	// A new file is not written through a link.
	b.do("PUT", "/api/jobs/linked", m{"text": "title: mine\n"})
	if text, _ := os.ReadFile(secret); string(text) != "title: secret\n" {
		t.Errorf("the file outside is %q", text)
	}
}

func TestHostileBodies(t *testing.T) {
	b := newBench(t)
	v := b.job("hobnail")
	for what, c := range map[string]struct {
		body   string
		status int
	}{
		"nothing":          {"", 400},
		"no JSON":          {"{", 400},
		"a list":           {"[]", 400},
		"an unknown key":   {`{"field":"depth","value":"1","if_revision":"` + v.Revision + `","force":true}`, 400},
		"a number":         {`{"field":"depth","value":1,"if_revision":"` + v.Revision + `"}`, 400},
		"two values":       {`{"field":"depth","value":"1","if_revision":"` + v.Revision + `"} {}`, 400},
		"too large":        {`{"field":"title","value":"` + strings.Repeat("x", 3<<20) + `"}`, 413},
		"a huge value":     {`{"field":"title","value":"` + strings.Repeat("x", 1<<20) + `","if_revision":"` + v.Revision + `"}`, 413},
		"nested":           {strings.Repeat("[", 100000), 400},
		"an endless path":  {`{"field":"` + strings.Repeat("a[0].", 1000) + `","value":"1","if_revision":"` + v.Revision + `"}`, 422},
		"a strange path":   {`{"field":"sequence[99999999999999999999]","value":"1","if_revision":"` + v.Revision + `"}`, 422},
		"a negative place": {`{"field":"sequence[-1]","value":"1","if_revision":"` + v.Revision + `"}`, 422},
	} {
		res, text := b.do("POST", "/api/jobs/hobnail/set", strings.NewReader(c.body))
		if res.StatusCode != c.status {
			t.Errorf("%s: %d, want %d: %.200s", what, res.StatusCode, c.status, text)
		}
	}
	if b.file("hobnail.yaml") != v.Text {
		t.Error("the file has changed")
	}
	res, _ := b.do("POST", "/api/jobs/hobnail/readings", strings.NewReader(strings.Repeat("1,2,3\n", 2<<20)), "Content-Type", "text/csv")
	if res.StatusCode != http.StatusRequestEntityTooLarge {
		t.Errorf("readings of 12 MB: %d", res.StatusCode)
	}
	b.problem(404, "not-found", "GET", "/api/nothing", nil)
	if res, _ := b.do("GET", "/elsewhere", nil); res.StatusCode != 404 {
		t.Errorf("/elsewhere: %d", res.StatusCode)
	}
}

func TestPage(t *testing.T) {
	b := newBench(t)
	for path, kind := range map[string]string{"/": "text/html", "/assets/app.js": "text/javascript", "/assets/app.css": "text/css"} {
		res, text := b.do("GET", path, nil)
		if res.StatusCode != 200 || !strings.HasPrefix(res.Header.Get("Content-Type"), kind) || len(text) == 0 {
			t.Errorf("%s: %d %s, %d bytes", path, res.StatusCode, res.Header.Get("Content-Type"), len(text))
			continue
		}
		again, body := b.do("GET", path, nil, "If-None-Match", res.Header.Get("ETag"))
		if again.StatusCode != 304 || len(body) != 0 {
			t.Errorf("%s again: %d", path, again.StatusCode)
		}
		if path == "/" {
			for _, inline := range []string{"<style", "style=", " onload=", "<script>", "http://", "https://"} {
				if strings.Contains(string(text), inline) {
					t.Errorf("the page has %s in it", inline)
				}
			}
		}
	}
}
