package web

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/big"
	"net"
	"net/netip"
	"os"
	"slices"
	"sync"
	"time"

	"brightcut/internal/whole"
)

// The workshop's secrets: its authority and the devices that were paired.
const (
	secrets       = ".brightcut"
	authorityFile = secrets + "/authority.pem"
	devicesFile   = secrets + "/devices.json"
)

const (
	authorityLasts = 5 * 365 * 24 * time.Hour
	leafLasts      = 90 * 24 * time.Hour
	leafRenewed    = 24 * time.Hour
)

// authority signs the certificates of this workshop's computer, and can sign for
// nothing but private addresses and names in .local (RFC 5280, 4.2.1.10): who
// trusts it trusts it for nothing else.
type authority struct {
	cert *x509.Certificate
	key  *ecdsa.PrivateKey

	mu   sync.Mutex
	leaf *tls.Certificate
	of   []netip.Addr // addresses that the leaf is for
	made time.Time
}

// openAuthority reads the workshop's authority, or makes it.
func openAuthority(root *os.Root, workshop string) (*authority, error) {
	text, err := root.ReadFile(authorityFile)
	if errors.Is(err, fs.ErrNotExist) {
		if text, err = newAuthority(workshop); err == nil {
			err = writeSecret(root, authorityFile, text)
		}
	}
	if err != nil {
		return nil, fmt.Errorf("keep the workshop's certificate: %w", err)
	}
	a, err := readAuthority(text)
	if err != nil {
		return nil, fmt.Errorf("read %s: %w; delete it for a new one, which every tablet must then trust anew", authorityFile, err)
	}
	return a, nil
}

func newAuthority(workshop string) ([]byte, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	serial, err := serialNumber()
	if err != nil {
		return nil, err
	}
	now := time.Now()
	c := &x509.Certificate{SerialNumber: serial, Subject: pkix.Name{CommonName: "Brightcut in " + workshop},
		NotBefore: now.Add(-time.Hour), NotAfter: now.Add(authorityLasts),
		IsCA: true, BasicConstraintsValid: true, MaxPathLenZero: true, KeyUsage: x509.KeyUsageCertSign,
		PermittedDNSDomainsCritical: true, PermittedDNSDomains: []string{"local"}}
	for _, r := range []string{"10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "fc00::/7"} {
		_, network, err := net.ParseCIDR(r)
		if err != nil {
			return nil, err
		}
		c.PermittedIPRanges = append(c.PermittedIPRanges, network)
	}
	der, err := x509.CreateCertificate(rand.Reader, c, c, key.Public(), key)
	if err != nil {
		return nil, err
	}
	private, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, err
	}
	return append(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: private})...), nil
}

func readAuthority(text []byte) (*authority, error) {
	pair, err := tls.X509KeyPair(text, text)
	if err != nil {
		return nil, err
	}
	key, ok := pair.PrivateKey.(*ecdsa.PrivateKey)
	if !ok || !pair.Leaf.IsCA {
		return nil, errors.New("it is not the authority that the program makes")
	}
	if time.Now().After(pair.Leaf.NotAfter) {
		return nil, fmt.Errorf("it ended on %s", pair.Leaf.NotAfter.Format("2 January 2006"))
	}
	return &authority{cert: pair.Leaf, key: key}, nil
}

func serialNumber() (*big.Int, error) {
	return rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 127))
}

// fingerprint is the SHA-256 of the authority's certificate, in pairs, as devices
// show it.
func (a *authority) fingerprint() string {
	sum := sha256.Sum256(a.cert.Raw)
	text := ""
	for i, b := range sum {
		if i > 0 {
			text += ":"
		}
		text += fmt.Sprintf("%02X", b)
	}
	return text
}

// certificate is that of this machine at its addresses. It is made anew when they
// change, and every day.
func (a *authority) certificate(addresses []netip.Addr) (*tls.Certificate, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	now := time.Now()
	if a.leaf != nil && slices.Equal(a.of, addresses) && now.Sub(a.made) < leafRenewed {
		return a.leaf, nil
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	serial, err := serialNumber()
	if err != nil {
		return nil, err
	}
	c := &x509.Certificate{SerialNumber: serial, Subject: pkix.Name{CommonName: "Brightcut"}, NotBefore: now.Add(-time.Hour), NotAfter: now.Add(leafLasts),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true}
	if c.NotAfter.After(a.cert.NotAfter) {
		c.NotAfter = a.cert.NotAfter
	}
	for _, at := range addresses {
		c.IPAddresses = append(c.IPAddresses, at.AsSlice())
	}
	if name := localName(); name != "" {
		c.DNSNames = []string{name}
	}
	der, err := x509.CreateCertificate(rand.Reader, c, a.cert, key.Public(), a.key)
	if err != nil {
		return nil, err
	}
	a.leaf, a.of, a.made = &tls.Certificate{Certificate: [][]byte{der, a.cert.Raw}, PrivateKey: key}, slices.Clone(addresses), now
	return a.leaf, nil
}

// writeSecret puts a file into the folder of secrets, whole or not at all, for
// its owner alone to read.
func writeSecret(root *os.Root, file string, text []byte) error {
	if err := root.Mkdir(secrets, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	if f, err := root.OpenFile(file, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600); err == nil { // the new text takes its mode
		f.Close()
	} else if !errors.Is(err, fs.ErrExist) {
		return err
	}
	return whole.WriteIn(root, file, func(w io.Writer) error { _, err := w.Write(text); return err })
}
