package api

import (
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strings"
	"testing"
	"time"

	"golang.org/x/time/rate"
	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/store/storetest"
)

// In no window of time does a name get more than what it may do at once and what
// has run in since; whoever waits as long as it is told gets its turn.
func TestBucketsLetNoMoreThrough(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		perSecond := rapid.IntRange(1, 100).Draw(t, "per second")
		atOnce := rapid.IntRange(1, 30).Draw(t, "at once")
		b := &buckets{every: rate.Limit(perSecond), atOnce: atOnce}
		now := storyTime
		let := map[string][]time.Time{}
		for range rapid.IntRange(1, 300).Draw(t, "turns") {
			now = now.Add(time.Duration(rapid.IntRange(0, 2000).Draw(t, "ms")) * time.Millisecond / time.Duration(perSecond))
			name := rapid.SampledFrom([]string{"RQ", "TS", "OP"}).Draw(t, "who")
			wait := b.take(name, now)
			if wait == 0 {
				let[name] = append(let[name], now)
			} else if rapid.Bool().Draw(t, "waits") {
				now = now.Add(time.Duration(seconds(wait)) * time.Second) // as Retry-After says
				if again := b.take(name, now); again > 0 {
					t.Fatalf("%s waited %v and is told to wait %v more", name, wait, again)
				}
				let[name] = append(let[name], now)
			}
		}
		for name, times := range let {
			for from := range times {
				for to := from; to < len(times); to++ {
					most := float64(atOnce) + times[to].Sub(times[from]).Seconds()*float64(perSecond) + 1e-6
					if float64(to-from+1) > most {
						t.Fatalf("%s got %d turns in %v", name, to-from+1, times[to].Sub(times[from]))
					}
				}
			}
		}
	})
}

// However many names come, no more than so many are kept, none of those kept is
// let off what it used, and all the others together get the share of one.
func TestBucketsStandACrowd(t *testing.T) {
	const crowd = 200_000
	b := &buckets{every: rate.Every(failureEvery), atOnce: failuresAtOnce}
	now, let := storyTime, 0
	for range failuresAtOnce {
		b.take("203.0.113.9", now)
	}
	for i := range crowd {
		if i%10_000 == 0 && b.take("203.0.113.9", now) == 0 {
			t.Fatal("the crowd made one forgotten")
		}
		if b.take(fmt.Sprint("name ", i%100_000), now) == 0 {
			let++
		}
	}
	if len(b.byName) > mostBuckets {
		t.Errorf("%d names are kept", len(b.byName))
	}
	// Those that are kept come twice, as do the others.
	if most := 2*mostBuckets + failuresAtOnce; let > most {
		t.Errorf("%d of a crowd were let through, and %d may be", let, most)
	}
	now = now.Add(failureEvery * failuresAtOnce)
	if b.take("one more", now) > 0 || len(b.byName) > 2 {
		t.Errorf("%d names are kept when all have waited", len(b.byName))
	}
}

// Secrets that are nobody's are remembered up to a bound, and crowd out no token.
func TestTheKeeperForgets(t *testing.T) {
	now := storyTime
	k := newKeeper(nil, Deps{Clock: func() time.Time { return now }}.withDefaults())
	k.remember("good", known{at: now})
	for i := range mostStrangers + 9 {
		k.remember(fmt.Sprint(i), known{err: errors.New("nobody's"), at: now})
	}
	if _, ok := k.fresh("good"); !ok || len(k.strange) != mostStrangers {
		t.Errorf("%d strangers are remembered, and the token is: %v", len(k.strange), ok)
	}
	now = now.Add(lookUpEvery)
	k.remember("late", known{err: errors.New("nobody's"), at: now})
	if _, ok := k.fresh("late"); !ok || len(k.strange) != 1 {
		t.Errorf("%d strangers are remembered when the others are forgotten", len(k.strange))
	}
}

// One household has many addresses of IPv6, and counts as one.
func TestAHouseholdIsOneCaller(t *testing.T) {
	for address, want := range map[string]string{
		"203.0.113.9": "203.0.113.9/32", "2001:db8:1:2:3:4:5:6": "2001:db8:1:2::/64", "2001:db8:1:2::9": "2001:db8:1:2::/64", "fe80::1%eth0": "fe80::/64",
	} {
		if got := household(netip.MustParseAddr(address)).String(); got != want {
			t.Errorf("%s belongs to %s, not %s", address, got, want)
		}
	}
	if got := household(netip.Addr{}).String(); got == "" {
		t.Error("no address has no household")
	}
}

// An address comes from the connection, or from a known proxy; what a stranger
// writes never changes whose attempts are counted.
func FuzzAddressOf(f *testing.F) {
	f.Add("203.0.113.9:4", "198.51.100.7, 10.0.0.1")
	f.Add("10.0.0.1:4", ", ,unknown,[::1]:7,10.0.0.2")
	f.Add("pipe", "fe80::1%eth0")
	l := &limits{proxies: []netip.Prefix{netip.MustParsePrefix("10.0.0.0/8")}}
	f.Fuzz(func(t *testing.T, remote, chain string) {
		r := httptest.NewRequest("GET", "/", nil)
		r.RemoteAddr = remote
		alone := l.addressOf(r)
		r.Header["X-Forwarded-For"] = []string{chain}
		got := l.addressOf(r)
		if !among(l.proxies, alone) && got != alone {
			t.Fatalf("%q with %q counts as %v, and is no proxy", remote, chain, got)
		}
		r.Header["X-Forwarded-For"] = []string{"192.0.2.1", chain, "198.51.100.7"}
		if got := l.addressOf(r); among(l.proxies, alone) && got != netip.MustParseAddr("198.51.100.7") {
			t.Fatalf("%q with %q counts as %v, and the proxy named another", remote, chain, got)
		}
		encrypted(r, l.proxies)
		fromLoopback(remote)
	})
}

// BenchmarkDoor is what it costs to be asked for a token: the same request without
// one, with one that is known, and with one that has to be looked up.
func BenchmarkDoor(b *testing.B) {
	for _, dialect := range storetest.Dialects {
		b.Run(dialect, func(b *testing.B) {
			g := openGate(b, storetest.Open(b, dialect), func(d *Deps) { d.Rate = 1 << 30 })
			ask := func(token string, pass time.Duration) func(*testing.B) {
				return func(b *testing.B) {
					for b.Loop() {
						g.pass(pass)
						g.askDoor(nearby, token)
					}
				}
			}
			b.Run("no-token", ask("", 0))
			token := g.token(models.NewToken{Name: "OP", Role: models.Coordinator})
			if code := g.askDoor(nearby, token); code != http.StatusOK {
				b.Fatal(code)
			}
			b.Run("token-known", ask(token, 0))
			b.Run("token-looked-up", ask(token, lookUpEvery))
			b.Run("refused", ask("withy-aaaaaaaa-"+strings.Repeat("a", 44), 0))
		})
	}
}

// askDoor asks what everyone with a token may know.
func (g *gate) askDoor(address, token string) int {
	r := httptest.NewRequest(http.MethodGet, "/v1/nursery", nil)
	r.RemoteAddr, r.Host = address, "localhost"
	if token != "" {
		r.Header.Set("Authorization", "Bearer "+token)
	}
	w := httptest.NewRecorder()
	g.ServeHTTP(w, r)
	return w.Code
}
