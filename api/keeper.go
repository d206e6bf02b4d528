package api

import (
	"context"
	"log/slog"
	"maps"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"golang.org/x/sync/singleflight"

	"withybed/models"
	"withybed/models/nursery"
	"withybed/models/rules"
)

// lookUpEvery is how long what is known of a token is taken for true: a token is
// looked up at most once in this time, and is refused within it once it is revoked.
const lookUpEvery = 5 * time.Second

// mostStrangers bounds how many secrets are remembered that are nobody's.
const mostStrangers = 4096

// keeper lets in those who may come in, and says who they are.
type keeper struct {
	nursery *nursery.Nursery
	clock   models.Clock
	log     *slog.Logger
	hosts   []string // this computer's names, for as long as no token is needed
	limits  *limits

	needed  atomic.Bool // a token is needed: once true, for good
	lookUps singleflight.Group
	mu      sync.Mutex
	known   map[string]known // tokens by the hash of the secret
	strange map[string]known // and secrets that are nobody's
}

// known is what a look-up found, and when.
type known struct {
	token models.Token
	err   error // the secret is nobody's
	at    time.Time
}

func newKeeper(n *nursery.Nursery, d Deps) *keeper {
	return &keeper{nursery: n, clock: d.Clock, log: d.Log, hosts: d.Hosts, limits: newLimits(d), known: map[string]known{}, strange: map[string]known{}}
}

// public are the pages that everyone may read: they hold nothing of the nursery.
var public = []string{"/healthz", "/readyz", "/docs", "/problems", "/v1/openapi.json"}

func isPublic(path string) bool {
	if path == "/" {
		return true // leads to the page of routes
	}
	for _, page := range public {
		if path == page || strings.HasPrefix(path, page+"/") {
			return true
		}
	}
	return false
}

// admitting is the layer that asks who comes in.
func (k *keeper) admitting(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if isPublic(r.URL.Path) {
			next.ServeHTTP(w, r)
			return
		}
		caller, err := k.admit(r)
		if err != nil {
			if r.ContentLength != 0 { // a stranger's body is not waited for
				w.Header().Set("Connection", "close")
			}
			sendProblem(w, problemOf(r.Context(), k.log, err))
			return
		}
		caller.Request, caller.RequestID = r.Method+" "+requestFrom(r.Context()).path, requestFrom(r.Context()).id
		next.ServeHTTP(w, r.WithContext(nursery.As(r.Context(), caller)))
	})
}

func (k *keeper) admit(r *http.Request) (models.Caller, error) {
	needed, err := k.needsToken(r.Context())
	if err != nil {
		return models.Caller{}, err
	}
	if !needed {
		return withoutToken, k.isHere(r)
	}
	caller, err := k.holder(r)
	if err != nil {
		return caller, k.limits.failed(r, err)
	}
	return caller, k.limits.spend(caller.Token)
}

// withoutToken is who works on this computer before there are tokens.
var withoutToken = models.Caller{Name: "this computer", Role: models.Coordinator}

func (k *keeper) needsToken(ctx context.Context) (bool, error) {
	if k.needed.Load() {
		return true, nil
	}
	needed, err := k.nursery.TokensNeeded(ctx)
	if needed {
		k.needed.Store(true)
	}
	return needed, err
}

// holder is who holds the token of a request.
func (k *keeper) holder(r *http.Request) (models.Caller, error) {
	secret, err := secretOf(r)
	if err != nil {
		return models.Caller{}, err
	}
	token, err := k.token(r.Context(), secret)
	if err != nil {
		return models.Caller{}, err
	}
	if err := rules.Admit(&token, k.clock.Now()); err != nil {
		return models.Caller{}, err
	}
	return models.Caller{Token: token.ID, Name: token.Name, Role: token.Role, LandManager: token.LandManager}, nil
}

// secretOf is the secret in the Authorization header (RFC 6750, 2.1).
func secretOf(r *http.Request) (string, error) {
	given := r.Header.Values("Authorization")
	if len(given) == 0 {
		return "", models.Errorf(models.Unauthenticated, "token-missing", "this server asks who is calling: give a token with --token, WITHY_TOKEN or the header Authorization: Bearer")
	}
	scheme, secret, _ := strings.Cut(given[0], " ")
	if len(given) > 1 || !strings.EqualFold(scheme, "Bearer") {
		return "", models.Errorf(models.Unauthenticated, "token-unknown", "the header Authorization must be given once, as Bearer and a token")
	}
	return strings.TrimSpace(secret), nil
}

// token is the token of a secret as it was within the last five seconds. Those
// who ask for the same at once share one look-up, which goes on where one of them
// gives up.
func (k *keeper) token(ctx context.Context, secret string) (models.Token, error) {
	if _, plain := rules.HandleOf(secret); !plain {
		return k.nursery.Token(ctx, secret) // says what is wrong without a look-up
	}
	hash := rules.HashOf(secret)
	if found, ok := k.fresh(hash); ok {
		return found.token, found.err
	}
	answer := k.lookUps.DoChan(hash, func() (any, error) {
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), lookUpEvery)
		defer cancel()
		at := k.clock.Now() // what is found may have changed since
		token, err := k.nursery.Token(ctx, secret)
		if known := models.AsError(err); err != nil && (known == nil || known.Kind != models.Unauthenticated) {
			return nil, err // the database does not answer, which says nothing of the token
		}
		return k.remember(hash, known{token: token, err: err, at: at}), nil
	})
	select {
	case <-ctx.Done():
		return models.Token{}, ctx.Err()
	case result := <-answer:
		if result.Err != nil {
			return models.Token{}, result.Err
		}
		found, _ := result.Val.(known)
		return found.token, found.err
	}
}

// isFresh says that what was found may still be taken for true. A clock that was
// set back makes nothing younger.
func (f known) isFresh(now time.Time) bool {
	age := now.Sub(f.at)
	return age >= 0 && age < lookUpEvery
}

func (k *keeper) fresh(hash string) (known, bool) {
	k.mu.Lock()
	defer k.mu.Unlock()
	found, ok := k.known[hash]
	if !ok {
		found, ok = k.strange[hash]
	}
	return found, ok && found.isFresh(k.clock.Now())
}

// remember keeps what was found. Secrets that are nobody's do not crowd out the
// tokens, and the last of a crowd are not remembered.
func (k *keeper) remember(hash string, found known) known {
	k.mu.Lock()
	defer k.mu.Unlock()
	if found.err == nil {
		k.known[hash] = found
		return found
	}
	if len(k.strange) >= mostStrangers {
		maps.DeleteFunc(k.strange, func(_ string, f known) bool { return !f.isFresh(k.clock.Now()) })
	}
	if len(k.strange) < mostStrangers {
		k.strange[hash] = found
	}
	return found
}
