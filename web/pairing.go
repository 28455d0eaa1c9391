package web

import (
	"crypto/rand"
	"crypto/subtle"
	"net/http"
	"net/netip"
	"strings"
	"sync"
	"time"
)

const (
	codeLasts   = 10 * time.Minute
	codeLetters = 10 // of 32 each: 50 bits
	mostWrong   = 20 // tries at one code, then it ends
	wrongByOne  = 5  // of them from one address

	// Crockford's base 32 has no letters that are mistaken for others.
	codeAlphabet = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
)

// pairing holds the code that pairs the next device.
type pairing struct {
	mu    sync.Mutex
	code  string // "" when there is none
	ends  time.Time
	wrong map[netip.Addr]int
	tries int
}

// fresh makes a new code; the old one ends.
func (p *pairing) fresh(now time.Time) {
	var random [codeLetters]byte
	rand.Read(random[:]) // never fails
	for i := range random {
		random[i] = codeAlphabet[random[i]%32]
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.code, p.ends, p.wrong, p.tries = string(random[:]), now.Add(codeLasts), map[netip.Addr]int{}, 0
}

// now is the code as it is shown, in two groups, "" when there is none.
func (p *pairing) now(now time.Time) (string, time.Time) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.code == "" || now.After(p.ends) {
		return "", time.Time{}
	}
	return p.code[:codeLetters/2] + "-" + p.code[codeLetters/2:], p.ends
}

// use spends the code on a device. A wrong one is counted, and the code ends when
// it was guessed at too often.
func (p *pairing) use(text string, from netip.Addr, now time.Time) error {
	refused := func(format string, values ...any) error {
		return newProblem(http.StatusForbidden, "refused", "The device is not paired", format, values...)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.code == "" || now.After(p.ends) {
		p.code = ""
		return refused("there is no code, or it has ended; make a new one on the workshop's computer")
	}
	if p.wrong[from] >= wrongByOne {
		return refused("this device has tried too often; make a new code on the workshop's computer")
	}
	if subtle.ConstantTimeCompare([]byte(plainCode(text)), []byte(p.code)) == 1 {
		p.code = ""
		return nil
	}
	p.wrong[from]++
	if p.tries++; p.tries >= mostWrong {
		p.code = ""
		return refused("the code was tried too often and has ended; make a new one on the workshop's computer")
	}
	return refused("that is not the code; look at it once more")
}

// plainCode takes a code as a person types it.
func plainCode(text string) string {
	if len(text) > 40 {
		return ""
	}
	return strings.NewReplacer("-", "", " ", "", "O", "0", "I", "1", "L", "1").Replace(strings.ToUpper(text))
}
