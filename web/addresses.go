package web

import (
	"net"
	"net/netip"
	"os"
	"slices"
	"strings"
)

// isPrivate says whether an address is one of a workshop's own network: RFC 1918,
// unique local (RFC 4193), or link-local IPv4 (RFC 3927).
func isPrivate(a netip.Addr) bool {
	a = a.Unmap()
	return a.IsPrivate() || a.Is4() && a.IsLinkLocalUnicast()
}

// privateAddresses are those of the interfaces that are up, IPv4 first.
func privateAddresses() []netip.Addr {
	var out []netip.Addr
	interfaces, _ := net.Interfaces() // what cannot be listed is not shared
	for _, i := range interfaces {
		if i.Flags&net.FlagUp == 0 || i.Flags&net.FlagLoopback != 0 {
			continue
		}
		addresses, _ := i.Addrs()
		for _, a := range addresses {
			if p, err := netip.ParsePrefix(a.String()); err == nil && isPrivate(p.Addr()) {
				out = append(out, p.Addr().Unmap())
			}
		}
	}
	slices.SortFunc(out, func(a, b netip.Addr) int { return a.Compare(b) })
	return slices.Compact(out)
}

// localName is the name that the machine has by multicast DNS (RFC 6762), "" when
// it has none that can be one.
func localName() string {
	name, err := os.Hostname()
	name, _, _ = strings.Cut(strings.ToLower(name), ".")
	if err != nil || name == "" || len(name) > 63 || strings.Trim(name, "abcdefghijklmnopqrstuvwxyz0123456789-") != "" {
		return ""
	}
	return name + ".local"
}

// addrOf is the address of one end of a connection.
func addrOf(a net.Addr) netip.Addr {
	p, err := netip.ParseAddrPort(a.String())
	if err != nil {
		return netip.Addr{}
	}
	return p.Addr().Unmap().WithZone("")
}
