package api

import (
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"slices"
	"strings"

	"withybed/models"
)

// LoopbackHosts are the names by which this computer calls itself.
var LoopbackHosts = []string{"localhost", "127.0.0.1", "::1"}

// forwarded are the headers by which a proxy says for whom it asks.
var forwarded = []string{"Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Forwarded-Proto", "X-Real-Ip", "Via"}

// isHere refuses a request that does not come from this computer, as long as
// nobody is asked for a token: one from elsewhere, one that a proxy passes on,
// and one for another host, since a page of another site whose name was made to
// point here would come under that name.
func (k *keeper) isHere(r *http.Request) error {
	host := (&url.URL{Host: r.Host}).Hostname()
	if !slices.Contains(k.hosts, strings.ToLower(host)) {
		return models.Errorf(models.Forbidden, "wrong-host",
			"this server does not answer to the host %q before there are tokens: use %s", cut(r.Host), strings.Join(k.hosts, ", "))
	}
	for _, header := range forwarded {
		if r.Header.Get(header) != "" {
			return noTokenYet("this request was passed on by a proxy")
		}
	}
	if !fromLoopback(r.RemoteAddr) {
		return noTokenYet("this request comes from another computer")
	}
	return nil
}

func noTokenYet(why string) error {
	return models.Errorf(models.Unauthenticated, "no-token-yet",
		"%s, and no token was made yet: make the first one on the computer of the server, with withy token add NAME --role coordinator", why)
}

// fromLoopback says that the other end of a connection is this computer, or this
// process.
func fromLoopback(address string) bool {
	if address == (pipeAddr{}).String() {
		return true
	}
	ip, ok := addressIn(address)
	return ok && ip.IsLoopback()
}

// addressIn is the address of a host and port.
func addressIn(address string) (netip.Addr, bool) {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		host = address
	}
	ip, err := netip.ParseAddr(host)
	return ip.Unmap(), err == nil
}

// CheckListen looks at an address to listen on, and says whether others can reach
// it.
func CheckListen(addr string) (reachable bool, err error) {
	host, port, err := net.SplitHostPort(addr)
	if err != nil {
		return false, models.Errorf(models.Invalid, "bad-address", "%q is not an address to listen on: write host and port, as in 127.0.0.1:8080", addr)
	}
	if !validPort(port) {
		return false, models.Errorf(models.Invalid, "bad-address", "%q has no port from 0 to 65535: write host and port, as in 127.0.0.1:8080", addr)
	}
	if host == "localhost" {
		return false, nil
	}
	ip, err := netip.ParseAddr(host)
	return err != nil || !ip.IsLoopback(), nil
}

// ParseProxies reads the proxies whose word on where a request comes from is
// taken: addresses and networks split by commas, as in 10.0.0.0/8, 192.0.2.7.
func ParseProxies(text string) ([]netip.Prefix, error) {
	var proxies []netip.Prefix
	for part := range strings.SplitSeq(text, ",") {
		part = strings.TrimSpace(part)
		if part == "" {
			continue
		}
		proxy, err := netip.ParsePrefix(part)
		if ip, single := netip.ParseAddr(part); single == nil {
			proxy, err = netip.PrefixFrom(ip.WithZone(""), ip.BitLen()), nil
		}
		if err != nil {
			return nil, models.Errorf(models.Invalid, "bad-address", "%q is no address or network of a proxy: write 192.0.2.7 or 10.0.0.0/8, split by commas", part)
		}
		proxies = append(proxies, proxy)
	}
	return proxies, nil
}
