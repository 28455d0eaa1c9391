package web

import (
	"html/template"
	"net/http"
)

// certificateFile sends the authority's certificate, for a device to trust.
func (sh *sharing) certificateFile(w http.ResponseWriter) error {
	h := w.Header()
	h.Set("Content-Type", "application/x-x509-ca-cert")
	h.Set("Content-Disposition", `attachment; filename="workshop.crt"`)
	w.Write(sh.authority.cert.Raw)
	return nil
}

var trust = template.Must(template.New("trust").Parse(`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Brightcut: trust this workshop</title>
</head>
<body>
<h1>Trust this workshop</h1>
<p>The page counts on without the network only on a device that trusts the workshop's certificate. The certificate was made
on the workshop's computer. It can vouch for nothing but addresses inside a private network, and ends on {{.Ends}}.</p>
<ol>
<li><a href="/workshop.crt">Take the certificate</a> onto this device.</li>
<li>Compare the fingerprint that the device shows (SHA-256) with that in the window of the workshop's computer, not only with this page:
<br><code>{{.Fingerprint}}</code><br>If they differ in one place, do not trust it.</li>
<li>iPad or iPhone: Settings, General, VPN &amp; Device Management, install the profile; then Settings, General, About, Certificate Trust Settings,
turn it on. Android: Settings, Security, Encryption &amp; credentials, Install a certificate, CA certificate. Windows: open the file, install it for you alone, under
Trusted Root Certification Authorities. macOS: open it in Keychain Access and set it to Always Trust. The words differ a little from one version to the next.</li>
<li>Then open <a href="https://{{.Host}}/">https://{{.Host}}/</a>.</li>
</ol>
<p>You would rather not? Open the same address and pass the browser's warning, if it lets you. The page works and keeps its count
while it stays open, also while the network is gone. What is lost: after a reload without the network it is not there, and some browsers then
neither keep the screen awake nor speak.</p>
</body>
</html>
`))

// explanation is all that is answered without TLS.
func (sh *sharing) explanation() http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cache-Control", "no-store")
		switch {
		case !sh.ownHost(r):
			http.Error(w, "Open the page by the address that the workshop's computer shows.", http.StatusForbidden)
		case r.Method != http.MethodGet && r.Method != http.MethodHead:
			http.Error(w, "Only the page at https:// takes anything.", http.StatusMethodNotAllowed)
		case r.URL.Path == "/workshop.crt":
			sh.certificateFile(w)
		default:
			h.Set("Content-Type", "text/html; charset=utf-8")
			trust.Execute(w, struct{ Host, Fingerprint, Ends string }{r.Host, sh.authority.fingerprint(), sh.authority.cert.NotAfter.Format("2 January 2006")})
		}
	})
}
