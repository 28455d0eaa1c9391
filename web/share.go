package web

import (
	"bytes"
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"time"

	"github.com/boombuler/barcode/qr"
)

// sharing is what is open to the workshop's network; nil on a server that shares
// nothing.
type sharing struct {
	authority *authority
	pairing   pairing
	port      int
	within    func(netip.Addr) bool // addresses of the network that is shared with
	addresses func() []netip.Addr
}

// Share opens the port to the workshop's network: to private addresses alone, and
// there to paired devices. Serve it with ServeShared.
func (s *Server) Share(port int) (net.Listener, error) {
	l, err := net.Listen("tcp", net.JoinHostPort("", strconv.Itoa(port)))
	if err != nil {
		return nil, fmt.Errorf("open port %d to the workshop's network: %w; give another with --share-port", port, err)
	}
	if err := s.share(l, isPrivate, privateAddresses); err != nil {
		l.Close()
		return nil, err
	}
	return l, nil
}

func (s *Server) share(l net.Listener, within func(netip.Addr) bool, addresses func() []netip.Addr) error {
	a, err := openAuthority(s.root, filepath.Base(s.folder))
	if err != nil {
		return err
	}
	if err := s.devices.read(s.root); err != nil {
		return err
	}
	at, err := netip.ParseAddrPort(l.Addr().String())
	if err != nil {
		return fmt.Errorf("share the workshop: %w", err)
	}
	s.shared.Store(&sharing{authority: a, port: int(at.Port()), within: within, addresses: addresses})
	return nil
}

// Shared lists the addresses at which devices find the workshop, and the
// fingerprint of its certificate; none when it is not shared.
func (s *Server) Shared() (addresses []string, fingerprint string) {
	sh := s.shared.Load()
	if sh == nil {
		return nil, ""
	}
	return sh.urls(), sh.authority.fingerprint()
}

func (sh *sharing) urls() []string {
	out := []string{}
	for _, a := range sh.addresses() {
		out = append(out, "https://"+netip.AddrPortFrom(a, uint16(sh.port)).String()+"/")
	}
	return out
}

// ServeShared answers the workshop's network until ctx ends: by TLS the page to
// paired devices, and without it only how to trust the workshop's certificate.
func (s *Server) ServeShared(ctx context.Context, l net.Listener) error {
	sh := s.shared.Load()
	if sh == nil {
		l.Close()
		return errors.New("serve the workshop's network: it is not shared")
	}
	secure, plain := split(l, sh.within)
	config := &tls.Config{MinVersion: tls.VersionTLS12, GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) {
		return sh.authority.certificate(sh.addresses())
	}}
	page := server(s.guardShared(sh, s.routes()))
	told := server(sh.explanation())
	page.RegisterOnShutdown(s.stop)
	ended := make(chan error, 2)
	go func() { ended <- page.Serve(tls.NewListener(secure, config)) }()
	go func() { ended <- told.Serve(plain) }()
	var err error
	select {
	case err = <-ended:
		ended <- err
	case <-ctx.Done():
	}
	grace, cancel := context.WithTimeout(context.Background(), 3*time.Second)
	defer cancel()
	for _, one := range []*http.Server{page, told} {
		if one.Shutdown(grace) != nil {
			one.Close()
		}
	}
	l.Close()
	for range 2 {
		if e := <-ended; err == nil && !errors.Is(e, http.ErrServerClosed) && ctx.Err() == nil {
			err = e
		}
	}
	return err
}

// server has the limits that every listener has.
func server(h http.Handler) *http.Server {
	return &http.Server{Handler: h, ReadHeaderTimeout: 10 * time.Second, ReadTimeout: time.Minute, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 32 << 10,
		ErrorLog: log.New(spoken{}, "", log.LstdFlags)}
}

// spoken is what a server has to say, but for devices of the network that do not
// trust the certificate: there is one at every visit.
type spoken struct{}

func (spoken) Write(b []byte) (int, error) {
	if bytes.Contains(b, []byte("TLS handshake error")) {
		return len(b), nil
	}
	return os.Stderr.Write(b)
}

type shareView struct {
	Shared      bool         `json:"shared"`
	Addresses   []string     `json:"addresses"`
	Secure      bool         `json:"secure"`
	Fingerprint string       `json:"fingerprint,omitempty"`
	Code        *codeView    `json:"code,omitempty"`
	Devices     []deviceView `json:"devices"`
	This        deviceView   `json:"this_device"`
}

type codeView struct {
	Text    string    `json:"text"`
	Expires time.Time `json:"expires"`
	QR      string    `json:"qr_url"`
}

type deviceView struct {
	ID     string    `json:"id,omitempty"`
	Name   string    `json:"name"`
	Paired time.Time `json:"paired,omitzero"`
	Seen   time.Time `json:"last_seen,omitzero"`
	Here   bool      `json:"here,omitempty"`
	Own    bool      `json:"own,omitempty"` // the workshop's computer
}

// getShare tells how the workshop is shared; codes and other devices only on the
// workshop's computer.
func (s *Server) getShare(w http.ResponseWriter, r *http.Request) error {
	v := shareView{Addresses: []string{}, Devices: []deviceView{}, This: deviceView{Name: atHome, Here: true, Own: true}}
	here := paired(r)
	if here != nil {
		v.This = deviceView{ID: here.ID, Name: s.devices.called(here.Sign), Paired: here.Paired, Here: true}
	}
	sh := s.shared.Load()
	if sh == nil {
		return answer(w, http.StatusOK, v)
	}
	v.Shared, v.Secure, v.Addresses, v.Fingerprint = true, true, sh.urls(), sh.authority.fingerprint()
	if here == nil {
		if text, ends := sh.pairing.now(time.Now()); text != "" {
			v.Code = &codeView{text, ends.UTC(), "/api/share/code.svg?until=" + strconv.FormatInt(ends.Unix(), 10)}
		}
		v.Devices = s.devices.views()
	}
	return answer(w, http.StatusOK, v)
}

// views are the devices that are paired now.
func (d *devices) views() []deviceView {
	d.mu.Lock()
	defer d.mu.Unlock()
	out := []deviceView{}
	for _, one := range d.all {
		if one.Hash != "" {
			out = append(out, deviceView{ID: one.ID, Name: one.Name, Paired: one.Paired, Seen: one.Seen})
		}
	}
	return out
}

func unshared() *problem {
	return newProblem(http.StatusConflict, "request", "The workshop is not shared", "end the program and start it with brightcut open --share")
}

func (s *Server) newCode(w http.ResponseWriter, r *http.Request) error {
	sh := s.shared.Load()
	if sh == nil {
		return unshared()
	}
	sh.pairing.fresh(time.Now())
	return s.getShare(w, r)
}

// codeSVG draws the address with the code in it. The code stands in the fragment,
// which a browser sends to no server.
func (s *Server) codeSVG(w http.ResponseWriter, r *http.Request) error {
	sh := s.shared.Load()
	if sh == nil {
		return unshared()
	}
	code, _ := sh.pairing.now(time.Now())
	if code == "" {
		return notFound("there is no code, or it has ended; make a new one")
	}
	urls := sh.urls()
	at := r.URL.Query().Get("address")
	if at == "" && len(urls) > 0 {
		at = urls[0]
	}
	if !slices.Contains(urls, at) {
		return notFound("the workshop has no such address in its network; look whether the computer is connected")
	}
	text, err := drawQR(at + "pair#code=" + code)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "image/svg+xml")
	w.Write(text)
	return nil
}

// drawQR draws a QR code (ISO/IEC 18004, level M) dark on light, with the quiet
// zone of four modules that it needs.
func drawQR(text string) ([]byte, error) {
	code, err := qr.Encode(text, qr.M, qr.Auto)
	if err != nil {
		return nil, fmt.Errorf("draw the pairing address: %w", err)
	}
	const quiet = 4
	n := code.Bounds().Dx()
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" shape-rendering="crispEdges"><rect width="100%%" height="100%%" fill="#fff"/><path fill="#000" d="`, n+2*quiet, n+2*quiet)
	for y := range n {
		for x := range n {
			if red, _, _, _ := code.At(x, y).RGBA(); red < 0x8000 {
				fmt.Fprintf(&b, "M%d %dh1v1h-1z", x+quiet, y+quiet)
			}
		}
	}
	b.WriteString(`"/></svg>`)
	return b.Bytes(), nil
}

// cookieName is of the kind that a browser takes only from this host itself, by
// TLS (RFC 6265bis, 4.1.3.2).
const cookieName = "__Host-brightcut"

// keepCookie is as long as browsers keep one; it begins anew with every visit.
const keepCookie = 400 * 24 * time.Hour

func cookie(token string) *http.Cookie {
	return &http.Cookie{Name: cookieName, Value: token, Path: "/", MaxAge: int(keepCookie / time.Second), Secure: true, HttpOnly: true, SameSite: http.SameSiteStrictMode}
}

// pair takes the code from a new device and gives it its token.
func (s *Server) pair(w http.ResponseWriter, r *http.Request) error {
	sh := s.shared.Load()
	if sh == nil {
		return unshared()
	}
	if r.TLS == nil {
		return newProblem(http.StatusForbidden, "refused", "The device is not paired", "the workshop's computer needs no pairing; open the address on the device")
	}
	var q struct {
		Code string `json:"code"`
		Name string `json:"name"`
	}
	if err := ask(w, r, &q); err != nil {
		return err
	}
	name, err := deviceName(q.Name)
	if err != nil {
		return err
	}
	from, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return badRequest("the request comes from no address")
	}
	if err := sh.pairing.use(q.Code, from.Addr().Unmap(), time.Now()); err != nil {
		return err
	}
	d, token, err := s.devices.pair(s.root, name)
	if err != nil {
		return err
	}
	http.SetCookie(w, cookie(token))
	s.hub.tell(event{name: "share", data: map[string]string{"id": d.ID}})
	return answer(w, http.StatusCreated, deviceView{ID: d.ID, Name: d.Name, Paired: d.Paired, Here: true})
}

func (s *Server) renameDevice(w http.ResponseWriter, r *http.Request) error {
	var q struct {
		Name string `json:"name"`
	}
	if err := ask(w, r, &q); err != nil {
		return err
	}
	name, err := deviceName(q.Name)
	if err != nil {
		return err
	}
	if err := s.devices.change(s.root, r.PathValue("id"), func(d *device) { d.Name = s.devices.unlike(name, d) }); err != nil {
		return err
	}
	return s.getShare(w, r)
}

func (s *Server) revokeDevice(w http.ResponseWriter, r *http.Request) error {
	if err := s.devices.change(s.root, r.PathValue("id"), func(d *device) { d.Hash, d.Revoked = "", time.Now().UTC() }); err != nil {
		return err
	}
	return s.getShare(w, r)
}
