package web

import (
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"image"
	"image/color"
	"io"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
)

// network is a workshop that is shared, with the loopback address standing in for
// the network's.
type network struct {
	*served
	at     string // host and port
	client *http.Client
	sh     *sharing
}

func newNetwork(t *testing.T) *network {
	t.Helper()
	b := newBench(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	here := netip.MustParseAddr("127.0.0.1")
	if err := b.server.share(l, func(a netip.Addr) bool { return a == here }, func() []netip.Addr { return []netip.Addr{here} }); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- b.server.ServeShared(ctx, l) }()
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}}, // the certificate has a test of its own
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	t.Cleanup(func() {
		client.CloseIdleConnections()
		cancel()
		if err := <-ended; err != nil {
			t.Error("sharing ended:", err)
		}
	})
	return &network{b, l.Addr().String(), client, b.server.shared.Load()}
}

// ask sends a request over the network with a token, "" for none.
func (n *network) ask(method, path, token string, body any, headers ...string) (*http.Response, []byte) {
	n.t.Helper()
	text, err := json.Marshal(body)
	if err != nil {
		n.t.Fatal(err)
	}
	q, err := http.NewRequest(method, "https://"+n.at+path, bytes.NewReader(text))
	if err != nil {
		n.t.Fatal(err)
	}
	q.Header.Set("Content-Type", "application/json")
	if token != "" {
		q.AddCookie(&http.Cookie{Name: cookieName, Value: token})
	}
	for i := 0; i+1 < len(headers); i += 2 {
		if headers[i] == "Host" {
			q.Host = headers[i+1]
			continue
		}
		q.Header.Set(headers[i], headers[i+1])
	}
	res, err := n.client.Do(q)
	if err != nil {
		n.t.Fatal(err)
	}
	defer res.Body.Close()
	out, err := io.ReadAll(res.Body)
	if err != nil {
		n.t.Fatal(err)
	}
	return res, out
}

func (n *network) code() string {
	n.t.Helper()
	var v shareView
	n.want(200, "POST", "/api/share/code", m{}, &v)
	if v.Code == nil || !regexp.MustCompile(`^[0-9A-Z]{5}-[0-9A-Z]{5}$`).MatchString(v.Code.Text) || time.Until(v.Code.Expires) < 9*time.Minute {
		n.t.Fatalf("the code: %+v", v.Code)
	}
	return v.Code.Text
}

// pair pairs a device and returns its id and token.
func (n *network) pair(name string) (id, token string) {
	n.t.Helper()
	res, text := n.ask("POST", "/api/pair", "", m{"code": n.code(), "name": name})
	if res.StatusCode != 201 || len(res.Cookies()) != 1 {
		n.t.Fatalf("pair: %d %s", res.StatusCode, text)
	}
	c := res.Cookies()[0]
	if c.Name != cookieName || !c.HttpOnly || !c.Secure || c.SameSite != http.SameSiteStrictMode || c.Domain != "" || c.Path != "/" || len(c.Value) < 52 || c.MaxAge < 86400*300 {
		n.t.Errorf("the cookie: %+v", c)
	}
	var v deviceView
	if err := json.Unmarshal(text, &v); err != nil {
		n.t.Fatal(err)
	}
	return v.ID, c.Value
}

func TestPaired(t *testing.T) {
	n := newNetwork(t)
	if res, _ := n.ask("GET", "/", "", nil); res.StatusCode != 303 || res.Header.Get("Location") != "/pair" {
		t.Errorf("the page without a cookie: %d", res.StatusCode)
	}
	for _, path := range []string{"/pair", "/assets/app.js", "/assets/app.css", "/manifest.webmanifest", "/workshop.crt"} {
		if res, _ := n.ask("GET", path, "", nil); res.StatusCode != 200 {
			t.Errorf("%s without a cookie: %d", path, res.StatusCode)
		}
	}
	id, token := n.pair("Bench tablet")
	if res, _ := n.ask("GET", "/", token, nil); res.StatusCode != 200 || len(res.Cookies()) != 1 {
		t.Errorf("the page: %d", res.StatusCode)
	}
	// It counts, and the log and the page say who did.
	n.start(firstRun, "barleycorn")
	res, text := n.ask("POST", "/api/runs/"+firstRun+"/events", token, m{"events": []m{done("d1", 1)}, "device": "somebody else"})
	var a appended
	if json.Unmarshal(text, &a); res.StatusCode != 200 || a.Run == nil || a.Run.Last == nil || a.Run.Last.Device != "Bench tablet" {
		t.Errorf("a count: %d %s", res.StatusCode, text)
	}
	// It may change jobs, and not delete, nor see codes or other devices, nor revoke.
	v := n.job("hobnail")
	if res, text := n.ask("POST", "/api/jobs/hobnail/set", token, m{"field": "title", "value": "Hobnail two", "if_revision": v.Revision}); res.StatusCode != 200 {
		t.Errorf("a change: %d %s", res.StatusCode, text)
	}
	secret := n.code()
	for _, c := range []struct{ method, path string }{{"DELETE", "/api/jobs/hobnail"}, {"POST", "/api/share/code"}, {"GET", "/api/share/code.svg"},
		{"DELETE", "/api/share/devices/" + id}, {"PUT", "/api/share/devices/" + id}} {
		if res, text := n.ask(c.method, c.path, token, m{}); res.StatusCode != 403 || !strings.Contains(string(text), "workshop's computer") {
			t.Errorf("%s %s from a device: %d %s", c.method, c.path, res.StatusCode, text)
		}
	}
	_, text = n.ask("GET", "/api/share", token, nil)
	if strings.Contains(string(text), secret) || !strings.Contains(string(text), `"devices":[]`) || !strings.Contains(string(text), "Bench tablet") {
		t.Errorf("a device sees %s", text)
	}
	// Another of the same name gets one of its own; renamed, the log's names follow.
	other, _ := n.pair("bench tablet")
	var share shareView
	n.want(200, "PUT", "/api/share/devices/"+id, m{"name": "Lathe side"}, &share)
	names := ""
	for _, d := range share.Devices {
		names += d.Name + "; "
	}
	if names != "Lathe side; bench tablet 2; " {
		t.Errorf("the devices: %s", names)
	}
	var run runView
	n.want(200, "GET", "/api/runs/"+firstRun, nil, &run)
	if run.Last.Device != "Lathe side" {
		t.Errorf("counted by %s", run.Last.Device)
	}
	if a := n.count(firstRun, done("d2", 2, "seen", a.Seq)); a.Run.Last.Device != atHome {
		t.Errorf("counted by %s", a.Run.Last.Device)
	}
	// Only hashes are kept, for the owner alone to read.
	file := n.file(devicesFile)
	if strings.Contains(file, token) || !strings.Contains(file, hashOf(token)) {
		t.Error("the token itself is kept")
	}
	for path, mode := range map[string]os.FileMode{secrets: 0o700 | os.ModeDir, devicesFile: 0o600, authorityFile: 0o600} {
		if info, err := os.Stat(filepath.Join(n.dir, path)); err != nil || info.Mode() != mode {
			t.Errorf("%s: %v, %v", path, info.Mode(), err)
		}
	}
	// Revoked, its stream of events ends at once and its cookie opens nothing.
	q, _ := http.NewRequest("GET", "https://"+n.at+"/api/events", nil)
	q.AddCookie(&http.Cookie{Name: cookieName, Value: token})
	stream, err := n.client.Do(q)
	if err != nil || stream.StatusCode != 200 {
		t.Fatal(stream, err)
	}
	defer stream.Body.Close()
	ended := make(chan struct{})
	go func() { io.Copy(io.Discard, stream.Body); close(ended) }()
	n.want(200, "DELETE", "/api/share/devices/"+id, m{}, &share)
	select {
	case <-ended:
	case <-time.After(5 * time.Second):
		t.Error("the stream goes on after the device was revoked")
	}
	if res, _ := n.ask("GET", "/api/runs", token, nil); res.StatusCode != 401 {
		t.Errorf("a revoked cookie: %d", res.StatusCode)
	}
	n.problem(404, "not-found", "DELETE", "/api/share/devices/"+id, m{})
	// A server that starts anew knows the devices, and the names of those revoked.
	var again devices
	if fresh := benchIn(t, n.dir); fresh.server.devices.called("Bench tablet") != "Lathe side" {
		t.Error("a server that does not share calls the device by its old name")
	}
	if err := again.read(n.server.root); err != nil || len(again.views()) != 1 || again.views()[0].ID != other || again.called("Bench tablet") != "Lathe side" {
		t.Errorf("after a new start: %+v, %v", again.views(), err)
	}
}

func TestForeignOnTheNetwork(t *testing.T) {
	n := newNetwork(t)
	_, token := n.pair("Tablet")
	_, port, _ := net.SplitHostPort(n.at)
	for _, c := range []struct {
		what, token, method, path string
		status                    int
		headers                   []string
	}{
		{"its own page", token, "GET", "/api/workshop", 200, []string{"Origin", "https://" + n.at, "Sec-Fetch-Site", "same-origin"}},
		{"no cookie", "", "GET", "/api/workshop", 401, nil},
		{"no cookie, a picture", "", "GET", "/api/jobs/hobnail/picture.png?pixels=16", 401, nil},
		{"no cookie, what is shared", "", "GET", "/api/share", 401, nil},
		{"another cookie", strings.Repeat("A", 52), "GET", "/api/workshop", 401, nil},
		{"an empty cookie", " ", "GET", "/api/workshop", 401, nil},
		{"the hash for a token", hashOf(token), "GET", "/api/workshop", 401, nil},
		{"a rebound name", token, "GET", "/api/workshop", 403, []string{"Host", "attacker.example:" + port}},
		{"a rebound name to pairing", "", "POST", "/api/pair", 403, []string{"Host", "attacker.example:" + port}},
		{"the loopback name", token, "GET", "/api/workshop", 403, []string{"Host", "localhost:" + port}},
		{"another address", token, "GET", "/api/workshop", 403, []string{"Host", "192.168.0.1:" + port}},
		{"another port", token, "GET", "/api/workshop", 403, []string{"Host", "127.0.0.1:1"}},
		{"no port", token, "GET", "/api/workshop", 403, []string{"Host", "127.0.0.1"}},
		{"another site", token, "POST", "/api/runs", 403, []string{"Origin", "https://attacker.example"}},
		{"the same host without TLS", token, "POST", "/api/runs", 403, []string{"Origin", "http://" + n.at}},
		{"cross-site", token, "GET", "/api/workshop", 403, []string{"Sec-Fetch-Site", "cross-site"}},
		{"pairing from another site", "", "POST", "/api/pair", 403, []string{"Origin", "https://attacker.example"}},
		{"a form", token, "POST", "/api/runs", 415, []string{"Content-Type", "text/plain"}},
	} {
		res, text := n.ask(c.method, c.path, c.token, m{}, c.headers...)
		if res.StatusCode != c.status {
			t.Errorf("%s: %d, want %d: %.200s", c.what, res.StatusCode, c.status, text)
		}
		policy := res.Header.Get("Content-Security-Policy")
		if !strings.Contains(policy, "default-src 'none'") || !strings.Contains(policy, "worker-src 'self'") || !strings.Contains(policy, "manifest-src 'self'") {
			t.Errorf("%s: the policy is %s", c.what, policy)
		}
	}
	// The loopback listener does not pair, nor does an unshared workshop share.
	n.problem(403, "refused", "POST", "/api/pair", m{"code": n.code(), "name": "x"})
	alone := newBench(t)
	alone.problem(409, "request", "POST", "/api/share/code", m{})
	var v shareView
	alone.want(200, "GET", "/api/share", nil, &v)
	if _, err := os.Stat(filepath.Join(alone.dir, secrets)); v.Shared || !os.IsNotExist(err) {
		t.Errorf("not shared: %+v, %v", v, err)
	}
	// Without TLS there is the explanation, and nothing else.
	for path, want := range map[string]string{"/": "Trust this workshop", "/api/workshop": "Trust this workshop", "/workshop.crt": ""} {
		res, err := http.Get("http://" + n.at + path)
		if err != nil {
			t.Fatal(err)
		}
		text, _ := io.ReadAll(res.Body)
		res.Body.Close()
		if res.StatusCode != 200 || !strings.Contains(string(text), want) || strings.Contains(string(text), "hobnail") {
			t.Errorf("%s without TLS: %d %.100s", path, res.StatusCode, text)
		}
		if path == "/" && !strings.Contains(string(text), n.sh.authority.fingerprint()) {
			t.Error("the page does not tell the fingerprint")
		}
	}
}

func TestPairingCode(t *testing.T) {
	n := newNetwork(t)
	try := func(code string) int {
		res, _ := n.ask("POST", "/api/pair", "", m{"code": code, "name": "Tablet"})
		return res.StatusCode
	}
	if s := try("00000-00000"); s != 403 {
		t.Errorf("without a code: %d", s)
	}
	old := n.code()
	code := n.code()
	if s := try(old); s != 403 {
		t.Errorf("the code before: %d", s)
	}
	typed := strings.ToLower(strings.ReplaceAll(strings.ReplaceAll(code, "-", " "), "0", "o"))
	if s := try(typed); s != 201 {
		t.Errorf("the code as a person types it: %d", s)
	}
	if s := try(code); s != 403 {
		t.Errorf("a code used twice: %d", s)
	}
	// Guessed at from one address, it is closed to that address, also for the right one.
	code = n.code()
	for range wrongByOne {
		try("ZZZZZ-ZZZZZ")
	}
	if s := try(code); s != 403 {
		t.Errorf("after %d wrong ones: %d", wrongByOne, s)
	}
	// From many, it ends for all.
	now := time.Now()
	var p pairing
	p.fresh(now)
	for i := range mostWrong {
		if p.use("ZZZZZZZZZZ", netip.AddrFrom4([4]byte{10, 0, 0, byte(i)}), now) == nil {
			t.Fatal("a wrong code was taken")
		}
	}
	if text, _ := p.now(now); text != "" || p.use(text, netip.Addr{}, now) == nil {
		t.Errorf("after %d wrong ones from everywhere there is still %q", mostWrong, text)
	}
	p.fresh(now)
	right := p.code
	if p.use(right, netip.Addr{}, now.Add(codeLasts+time.Second)) == nil {
		t.Error("a code was taken after its end")
	}
	p.fresh(now)
	if err := p.use(p.code, netip.Addr{}, now.Add(codeLasts-time.Second)); err != nil {
		t.Error("a code was refused before its end:", err)
	}
}

// The QR code is read by another's decoder (ZXing's, in Go).
func TestCodeDrawn(t *testing.T) {
	n := newNetwork(t)
	n.problem(404, "not-found", "GET", "/api/share/code.svg", nil)
	code := n.code()
	res, svg := n.do("GET", "/api/share/code.svg", nil)
	if res.StatusCode != 200 || res.Header.Get("Content-Type") != "image/svg+xml" {
		t.Fatalf("%d %s", res.StatusCode, svg)
	}
	size, _ := strconv.Atoi(regexp.MustCompile(`viewBox="0 0 (\d+)`).FindStringSubmatch(string(svg))[1])
	const scale = 4
	img := image.NewGray(image.Rect(0, 0, size*scale, size*scale))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	for _, at := range regexp.MustCompile(`M(\d+) (\d+)h1v1h-1z`).FindAllStringSubmatch(string(svg), -1) {
		x, _ := strconv.Atoi(at[1])
		y, _ := strconv.Atoi(at[2])
		for i := range scale * scale {
			img.SetGray(x*scale+i%scale, y*scale+i/scale, color.Gray{})
		}
	}
	bitmap, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		t.Fatal(err)
	}
	// The drawing is square and clean; without the hint the reader looks for a code in a
	// photograph, and now and then misses the corners of one.
	read, err := qrcode.NewQRCodeReader().Decode(bitmap, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_PURE_BARCODE: true})
	if err != nil {
		t.Fatal(err)
	}
	if want := "https://" + n.at + "/pair#code=" + code; read.GetText() != want {
		t.Errorf("it reads %q, want %q", read.GetText(), want)
	}
	n.problem(404, "not-found", "GET", "/api/share/code.svg?address=https://elsewhere/", nil)
}

// The authority vouches for private addresses and .local names alone, as another
// reader of certificates finds.
func TestAuthority(t *testing.T) {
	root, err := os.OpenRoot(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer root.Close()
	a, err := openAuthority(root, "Lantern Yard")
	if err != nil {
		t.Fatal(err)
	}
	again, err := openAuthority(root, "Lantern Yard")
	if err != nil || again.fingerprint() != a.fingerprint() || len(a.fingerprint()) != 95 {
		t.Fatalf("read again: %v", err)
	}
	pool := x509.NewCertPool()
	pool.AddCert(a.cert)
	for address, good := range map[string]bool{"192.168.1.5": true, "10.1.2.3": true, "172.31.0.1": true, "169.254.7.7": true, "fd12:3456::1": true,
		"127.0.0.1": false, "8.8.8.8": false, "172.32.0.1": false, "2001:db8::1": false} {
		pair, err := a.certificate([]netip.Addr{netip.MustParseAddr(address)})
		if err != nil {
			t.Fatal(err)
		}
		leaf, err := x509.ParseCertificate(pair.Certificate[0])
		if err != nil {
			t.Fatal(err)
		}
		host := address
		if strings.Contains(host, ":") {
			host = "[" + host + "]"
		}
		if _, err := leaf.Verify(x509.VerifyOptions{Roots: pool, DNSName: host}); (err == nil) != good {
			t.Errorf("%s: %v", address, err)
		}
		if leaf.IsCA || leaf.NotAfter.Sub(leaf.NotBefore) > 398*24*time.Hour { // the longest that browsers take of any authority
			t.Errorf("the leaf lasts from %v to %v", leaf.NotBefore, leaf.NotAfter)
		}
	}
	if err := root.WriteFile(authorityFile, []byte("nothing"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := openAuthority(root, "Lantern Yard"); err == nil || !strings.Contains(err.Error(), "delete it") {
		t.Errorf("a broken file: %v", err)
	}
}

// Addresses of RFC 1918, RFC 4193 and RFC 3927, and their neighbours.
func TestPrivate(t *testing.T) {
	for address, want := range map[string]bool{"10.0.0.0": true, "10.255.255.255": true, "11.0.0.0": false, "172.15.255.255": false, "172.16.0.0": true, "172.31.255.255": true,
		"172.32.0.0": false, "192.168.0.0": true, "192.169.0.0": false, "169.254.1.1": true, "169.253.1.1": false, "127.0.0.1": false, "0.0.0.0": false, "100.64.0.1": false,
		"fc00::1": true, "fdff::1": true, "fe00::1": false, "fe80::1": false, "::1": false, "2001:db8::1": false, "::ffff:10.0.0.1": true, "::ffff:8.8.8.8": false} {
		if got := isPrivate(netip.MustParseAddr(address)); got != want {
			t.Errorf("%s: %v", address, got)
		}
	}
}
