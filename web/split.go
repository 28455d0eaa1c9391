package web

import (
	"errors"
	"net"
	"net/netip"
	"sync"
	"time"
)

const (
	mostConnections = 256
	firstByte       = 10 * time.Second // until a connection says what it is
	tlsHandshake    = 0x16             // RFC 8446, 5.1: the first record's type
)

// split hands the connections of one port on: those that begin with a TLS
// handshake, and others. Connections from or to outside the network are closed
// unheard.
func split(l net.Listener, within func(netip.Addr) bool) (secure, plain net.Listener) {
	done := make(chan struct{})
	once := sync.OnceFunc(func() { close(done); l.Close() })
	a := &half{l.Addr(), make(chan net.Conn), done, once}
	b := &half{l.Addr(), make(chan net.Conn), done, once}
	seats := make(chan struct{}, mostConnections)
	go func() {
		defer once()
		for {
			c, err := l.Accept()
			if errors.Is(err, net.ErrClosed) {
				return
			}
			if err != nil { // the machine has no more descriptors, or the like
				time.Sleep(50 * time.Millisecond)
				continue
			}
			if !within(addrOf(c.LocalAddr())) || !within(addrOf(c.RemoteAddr())) {
				c.Close()
				continue
			}
			select {
			case seats <- struct{}{}:
			default:
				c.Close()
				continue
			}
			p := &peeked{Conn: c, leave: sync.OnceFunc(func() { <-seats })}
			go p.find(a, b)
		}
	}()
	return a, b
}

// half is a listener for one kind of connection.
type half struct {
	addr  net.Addr
	conns chan net.Conn
	done  chan struct{}
	close func()
}

func (h *half) Accept() (net.Conn, error) {
	select {
	case c := <-h.conns:
		return c, nil
	case <-h.done:
		return nil, net.ErrClosed
	}
}
func (h *half) Close() error   { h.close(); return nil }
func (h *half) Addr() net.Addr { return h.addr }

// peeked is a connection of which the first byte was looked at.
type peeked struct {
	net.Conn
	first []byte
	leave func()
}

func (p *peeked) find(secure, plain *half) {
	p.SetReadDeadline(time.Now().Add(firstByte))
	var first [1]byte
	if _, err := p.Conn.Read(first[:]); err != nil {
		p.Close()
		return
	}
	p.SetReadDeadline(time.Time{})
	p.first = first[:]
	to := plain
	if first[0] == tlsHandshake {
		to = secure
	}
	select {
	case to.conns <- p:
	case <-to.done:
		p.Close()
	}
}

// Read gives the first byte back.
func (p *peeked) Read(b []byte) (int, error) {
	if len(p.first) > 0 && len(b) > 0 {
		n := copy(b, p.first)
		p.first = p.first[n:]
		return n, nil
	}
	return p.Conn.Read(b)
}

// Close gives the seat up.
func (p *peeked) Close() error { p.leave(); return p.Conn.Close() }
