package rules

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"withybed/models"
)

const chance = "abcdefgh234567abcdefgh234567abcdefgh234567abcdefgh23"

func TestSecretsAreFoundByTheirHandles(t *testing.T) {
	secret, handle := NewSecret(chance)
	if secret != "withy-abcdefgh-"+chance[8:] || handle != "abcdefgh" {
		t.Errorf("%s %s", secret, handle)
	}
	if got, ok := HandleOf(secret); !ok || got != handle {
		t.Errorf("%s %v", got, ok)
	}
	for _, text := range []string{"", "withy-", secret[1:], secret[:54], strings.ToUpper(secret), secret + " ", secret + "-x", "withy-abcdefg-" + chance[8:], "withy-abcdefgé-" + chance[8:]} {
		if handle, ok := HandleOf(text); ok {
			t.Errorf("%q is taken for a secret with the handle %q", text, handle)
		}
	}
}

func FuzzHandleOf(f *testing.F) {
	secret, _ := NewSecret(chance)
	f.Add(secret)
	f.Add("withy--")
	f.Fuzz(func(t *testing.T, text string) {
		handle, ok := HandleOf(text)
		if ok && (len(handle) != handleLength || !strings.HasPrefix(text, "withy-"+handle+"-") || len(text) < len("withy-")+handleLength+1+leastChance) {
			t.Fatalf("%q has the handle %q", text, handle)
		}
	})
}

// A token opens for its own secret and for no other.
func TestATokenOpensForItsSecret(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mine := rapid.StringMatching(`[a-z0-9]{52}`).Draw(t, "mine")
		other := rapid.StringMatching(`[a-z0-9]{52}`).Draw(t, "other")
		secret, _ := NewSecret(mine)
		token := &models.Token{Hash: HashOf(secret)}
		if strange, _ := NewSecret(other); !Opens(token, secret) || other != mine && Opens(token, strange) {
			t.Fatal(mine, other)
		}
	})
}

func TestEnterToken(t *testing.T) {
	place, err := time.LoadLocation("America/Los_Angeles")
	if err != nil {
		t.Fatal(err)
	}
	today := models.MustDate("2026-03-07") // the clocks change in the night after it
	for _, c := range []struct {
		name  string
		req   models.NewToken
		first bool
		ends  string // instant in UTC
		fault string // code
	}{
		{"a volunteer's ends that night", models.NewToken{Name: " Saturday  crew ", Role: models.Volunteer}, false, "2026-03-08T08:00:00Z", ""},
		{"across the change of clocks", models.NewToken{Name: "TS", Role: models.Lead, EndsOn: today.Add(1)}, false, "2026-03-09T07:00:00Z", ""},
		{"others are good for a year", models.NewToken{Name: "OP", Role: models.Coordinator}, true, "2027-03-08T08:00:00Z", ""},
		{"of the land", models.NewToken{Name: "parks", Role: models.Manager, LandManager: "Wrenlow Valley Parks"}, false, "2027-03-08T08:00:00Z", ""},
		{"first of all a coordinator", models.NewToken{Name: "TS", Role: models.Lead}, true, "", "first-token"},
		{"no name", models.NewToken{Name: "  ", Role: models.Lead}, false, "", "invalid"},
		{"no role", models.NewToken{Name: "TS"}, false, "", "invalid"},
		{"over before it begins", models.NewToken{Name: "TS", Role: models.Lead, EndsOn: today.Add(-1)}, false, "", "invalid"},
		{"no land", models.NewToken{Name: "parks", Role: models.Manager}, false, "", "invalid"},
		{"land for a reader", models.NewToken{Name: "board", Role: models.Reader, LandManager: "x"}, false, "", "invalid"},
	} {
		token, err := EnterToken(c.req, c.first, today, place)
		if c.fault != "" {
			if e := models.AsError(err); e == nil || e.Code != c.fault {
				t.Errorf("%s: %v", c.name, err)
			}
			continue
		}
		if err != nil || token.EndsAt.Format(time.RFC3339) != c.ends {
			t.Errorf("%s: ends at %s, %v", c.name, token.EndsAt.Format(time.RFC3339), err)
		}
		if token.StateAt(token.EndsAt.Add(-time.Millisecond)) != models.Current || token.StateAt(token.EndsAt) != models.Over {
			t.Errorf("%s: it does not end when it ends", c.name)
		}
	}
}

func TestTokenWarnings(t *testing.T) {
	today := models.MustDate("2026-01-17")
	token := models.Token{Role: models.Manager, LandManager: "Wrenlow Valley Parks", EndsOn: today.Add(732)}
	if got := TokenWarnings(&token, false, today); len(got) != 2 {
		t.Error(got)
	}
	token.EndsOn = today.Add(731)
	if got := TokenWarnings(&token, true, today); len(got) != 0 {
		t.Error(got)
	}
}

// Who may do a deed may do it whatever else the role brings, and a coordinator
// may do all.
func TestAccess(t *testing.T) {
	for _, deed := range models.Deeds {
		for _, role := range models.Roles {
			err := Access(models.Caller{Role: role}, deed)
			if (err == nil) != May(role, deed) {
				t.Errorf("%s, %s: %v", role, deed, err)
			}
			if e := models.AsError(err); err != nil && (e.Kind != models.Forbidden || !strings.Contains(e.Detail, "coordinator")) {
				t.Errorf("%s, %s: %v", role, deed, err)
			}
		}
		if !May(models.Coordinator, deed) || May("", deed) || May("gardener", deed) {
			t.Errorf("%s is done by the wrong people", deed)
		}
	}
}
