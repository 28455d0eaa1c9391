package web_test

import (
	"context"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/security"
	"github.com/chromedp/chromedp"

	"brightcut/web"
)

// A tablet is let in by a code, counts under its name in the workshop's log, and is
// cut off when it is let in no more. It meets the server as the network does: by TLS
// at this machine's private address.
func TestShareInBrowser(t *testing.T) {
	slow.may(t)
	b := &tabs{browser(t)}
	s := newShop(t, "barleycorn")
	s.stop()
	server, err := web.New(s.folder, web.Options{Look: s.look})
	if err != nil {
		t.Fatal(err)
	}
	network, err := server.Share(0)
	if err != nil {
		t.Fatal(err)
	}
	addresses, _ := server.Shared()
	if len(addresses) == 0 {
		server.Close()
		t.Skip("this machine has no private address to share by")
	}
	home, err := web.Listen(0)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan struct{}, 2)
	go func() { server.Serve(ctx, home); ended <- struct{}{} }()
	go func() { server.ServeShared(ctx, network); ended <- struct{}{} }()
	t.Cleanup(func() { cancel(); <-ended; <-ended; server.Close() })
	s.address, s.stop = "http://"+home.Addr().String(), func() {}
	run := s.start("barleycorn", "shared")

	bench := s.open(b.ctx, t, "#/", 1280, 800)
	bench.click("more screens")
	bench.until("the panel", `document.querySelector("dialog.share")?.textContent.includes("Let a device in")`)
	bench.click("Let a device in")
	bench.until("the code", `/^[0-9A-Z]{5}-[0-9A-Z]{5}$/.test(document.querySelector(".code-text")?.textContent ?? "")`)
	bench.until("the picture of the code", `((i) => i && i.complete && i.naturalWidth > 0)(document.querySelector("dialog.share img"))`)
	bench.keep("share")
	code := bench.text(`document.querySelector(".code-text").textContent`)
	bench.audit(readAxe(t), "share", [2]int64{1280, 800})

	// Without TLS there is only how to trust the certificate. The tablet passes the
	// browser's warning about it.
	there := *s
	secure := strings.TrimSuffix(addresses[0], "/")
	there.address = strings.Replace(secure, "https", "http", 1)
	tablet := there.open(screen(t, b), t, "", 768, 1024)
	tablet.until("how to trust", `document.querySelector("h1").textContent === "Trust this workshop" && document.querySelector("code").textContent.length > 90`)
	there.address = secure
	tablet.do(chromedp.Func(func(ctx context.Context, at *chromedp.Target) error {
		_, err := cdp.Call(ctx, at, security.SetIgnoreCertificateErrors, security.SetIgnoreCertificateErrorsParams{Ignore: true})
		return err
	}))
	tablet.do(chromedp.Navigate(there.address + "/pair"))
	tablet.until("the form", `document.querySelector("main.pair #code")`)
	tablet.keep("pair")
	tablet.audit(readAxe(t), "pair", [2]int64{768, 1024})
	enter := func(code, name string) {
		for id, text := range map[string]string{"#code": code, "#name": name} {
			tablet.eval(`document.querySelector("` + id + `").focus(), document.querySelector("` + id + `").select(), 0`)
			tablet.write(text)
		}
		tablet.click("Let it in")
	}
	enter("AAAAA-AAAAA", "lathe side")
	tablet.until("the refusal", `document.querySelector(".pair [role=alert]")?.textContent.includes("not the code")`)
	enter(strings.ToLower(code), "lathe side")
	tablet.until("the workshop", `location.pathname === "/" && document.querySelector(".on-shelf")`)
	bench.until("the device on the list", `document.querySelector(".devices input")?.value === "lathe side"`)

	tablet.eval(`localStorage.setItem("count-habits", JSON.stringify({twice: 0.001})), location.hash = "#/barleycorn/count/` + run + `", location.reload(), 0`)
	tablet.until("the count", `document.querySelector(".counts")`)
	tablet.strokes(" ", 1, 3)
	s.counted(run, 3)
	for _, e := range s.log(run, "done") {
		if e.Device != "lathe side" {
			t.Errorf("cut %d was counted by %q", e.Cut, e.Device)
		}
	}

	bench.click("let in no more")
	bench.until("an empty list", `!document.querySelector(".devices input")`)
	tablet.press(" ", 0)
	tablet.until("that it is cut off", `document.body.textContent.includes("ask for a code on the workshop's computer")`)
	if n := len(s.log(run, "done")); n != 3 {
		t.Errorf("the log holds %d counts of a device that was cut off after 3", n)
	}
	// The worker that keeps the page is fetched beside the tab, which alone passes the
	// warning: its script does not come, by the certificate or, as the page reloads, for
	// no cause that the browser knows.
	for _, about := range []string{"ERR_CERT", "403", "401", "pair", "events", "share", "when fetching the script", "favicon"} {
		tablet.forgive(about)
	}
}
