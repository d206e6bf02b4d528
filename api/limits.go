package api

import (
	"net/http"
	"net/netip"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"golang.org/x/time/rate"

	"withybed/models"
)

// How often an address may try in vain: some at once, then one every so often.
const (
	failuresAtOnce = 20
	failureEvery   = 6 * time.Second
)

// limits keep one caller from taking what is there for all.
type limits struct {
	clock    models.Clock
	proxies  []netip.Prefix
	failures buckets // by address
	requests buckets // by token
}

func newLimits(d Deps) *limits {
	return &limits{
		clock: d.Clock, proxies: d.Proxies,
		failures: buckets{every: rate.Every(failureEvery), atOnce: failuresAtOnce},
		requests: buckets{every: rate.Limit(d.Rate), atOnce: d.Rate * burstSeconds},
	}
}

// burstSeconds is how long a token may save up what it does not ask.
const burstSeconds = 10

// failed is what a request is told that came in vain. An address that tries too
// often is told so and nothing else.
func (l *limits) failed(r *http.Request, err error) error {
	known := models.AsError(err)
	if known == nil || known.Kind != models.Unauthenticated || known.Code == "token-missing" {
		return err
	}
	from := l.addressOf(r)
	if wait := l.failures.take(household(from).String(), l.clock.Now()); wait > 0 {
		return tooMany("too-many-attempts", wait, "too many requests with wrong tokens came from %s", from)
	}
	return err
}

// household is the network of an address that one caller has to themselves: the
// address, or the 64 bits that an IPv6 network has in common.
func household(at netip.Addr) netip.Prefix {
	bits := at.BitLen()
	if at.Is6() {
		bits = 64
	}
	network, _ := at.WithZone("").Prefix(bits) // fails only for no address at all, which is a household of its own
	return network
}

// spend refuses a token that asks too much.
func (l *limits) spend(token string) error {
	if wait := l.requests.take(token, l.clock.Now()); wait > 0 {
		return tooMany("too-many-requests", wait, "this token asks too much at once")
	}
	return nil
}

func tooMany(code string, wait time.Duration, format string, args ...any) error {
	err := models.Errorf(models.TooMany, code, format, args...)
	err.Wait = wait
	err.Detail += ": try again in " + strconv.Itoa(seconds(wait)) + " seconds"
	return err
}

// seconds is a time to wait, in whole seconds and at least one.
func seconds(wait time.Duration) int { return max(1, int((wait+time.Second-1)/time.Second)) }

// addressOf is the address a request comes from: the other end of the connection,
// or, where that is a proxy that is known, the last address before it that is none
// (X-Forwarded-For, right to left).
func (l *limits) addressOf(r *http.Request) netip.Addr {
	at, _ := addressIn(r.RemoteAddr)
	hops := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
	for _, hop := range slices.Backward(hops) {
		if !among(l.proxies, at) {
			return at
		}
		before, ok := addressIn(strings.TrimSpace(hop))
		if !ok {
			return at
		}
		at = before
	}
	return at
}

// encrypted says that a request came over TLS: to this server, or to a proxy that
// is known and says so.
func encrypted(r *http.Request, proxies []netip.Prefix) bool {
	if r.TLS != nil {
		return true
	}
	at, _ := addressIn(r.RemoteAddr)
	return among(proxies, at) && strings.EqualFold(r.Header.Get("X-Forwarded-Proto"), "https")
}

func among(proxies []netip.Prefix, at netip.Addr) bool {
	return slices.ContainsFunc(proxies, func(p netip.Prefix) bool { return p.Contains(at) })
}

// mostBuckets bounds how many callers are counted at once.
const mostBuckets = 4096

// buckets count by name how often something may be done.
type buckets struct {
	every  rate.Limit
	atOnce int

	mu     sync.Mutex
	byName map[string]*rate.Limiter
	looked time.Time     // when last it was looked for whom to forget
	late   *rate.Limiter // shared by those for whom there is no room
}

// take counts one, and says how long to wait where that is one too many.
func (b *buckets) take(name string, now time.Time) time.Duration {
	b.mu.Lock()
	defer b.mu.Unlock()
	limiter := b.of(name, now)
	turn := limiter.ReserveN(now, 1)
	wait := turn.DelayFrom(now)
	if wait > 0 {
		turn.CancelAt(now)
	}
	return wait
}

// of is the bucket of a name. A crowd of names makes no room for itself by having
// others forgotten: those who come late share one bucket.
func (b *buckets) of(name string, now time.Time) *rate.Limiter {
	if limiter := b.byName[name]; limiter != nil {
		return limiter
	}
	if b.byName == nil {
		b.byName = map[string]*rate.Limiter{}
		b.late = rate.NewLimiter(b.every, b.atOnce)
	}
	if len(b.byName) >= mostBuckets && now.Sub(b.looked) >= time.Second {
		b.looked = now
		b.forgetFull(now)
	}
	if len(b.byName) >= mostBuckets {
		return b.late
	}
	limiter := rate.NewLimiter(b.every, b.atOnce)
	b.byName[name] = limiter
	return limiter
}

// forgetFull drops those who have not asked for so long that they may ask as much
// as a new one.
func (b *buckets) forgetFull(now time.Time) {
	for name, limiter := range b.byName {
		if limiter.TokensAt(now) >= float64(b.atOnce) {
			delete(b.byName, name)
		}
	}
}
