package rules

import (
	"crypto/sha256"
	"crypto/subtle"
	"encoding/hex"
	"regexp"
	"strings"
	"time"

	"withybed/models"
)

const (
	secretPrefix = "withy-" // by which a lost secret is known for what it is
	handleLength = 8
	leastChance  = 40 // letters of chance in the rest of a secret, over 200 bits

	usualTokenDays = 365 // for which a token other than a volunteer's is good
)

// NewSecret makes the secret of a token out of chance, at least 48 small letters
// and digits, and its handle, by which the token is found.
func NewSecret(chance string) (secret, handle string) {
	handle = chance[:handleLength]
	return secretPrefix + handle + "-" + chance[handleLength:], handle
}

// HandleOf is the handle in a secret; ok is false for what is no secret.
func HandleOf(secret string) (handle string, ok bool) {
	rest, ok := strings.CutPrefix(secret, secretPrefix)
	if !ok {
		return "", false
	}
	handle, chance, ok := strings.Cut(rest, "-")
	return handle, ok && len(handle) == handleLength && len(chance) >= leastChance && plainSecret(handle+chance)
}

// secretText finds what looks like a secret in a text.
var secretText = regexp.MustCompile(`(withy-[a-z0-9]{8})-[a-z0-9]{8,}`)

// WithoutSecrets is a text in which secrets are cut down to their handles, for
// what is logged, kept or shown.
func WithoutSecrets(text string) string { return secretText.ReplaceAllString(text, "$1-…") }

func plainSecret(text string) bool {
	return strings.Trim(text, "abcdefghijklmnopqrstuvwxyz0123456789") == ""
}

// HashOf is what is kept of a secret. The secret is long and made by chance, so
// that nobody can try them all, and a plain SHA-256 is enough.
func HashOf(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

// Opens says whether a secret is that of a token, in a time that does not tell how
// much of it is right.
func Opens(token *models.Token, secret string) bool {
	return subtle.ConstantTimeCompare([]byte(token.Hash), []byte(HashOf(secret))) == 1
}

// Admit refuses a token that has ended or was revoked by an instant.
func Admit(token *models.Token, at time.Time) error {
	switch token.StateAt(at) {
	case models.Over:
		return models.Errorf(models.Unauthenticated, "token-ended", "the token %s ended with %s: ask the coordinator for a new one", token.Name, token.EndsOn)
	case models.Revoked:
		return models.Errorf(models.Unauthenticated, "token-revoked", "the token %s was revoked: ask the coordinator", token.Name)
	}
	return nil
}

// EnterToken makes the token of a request, without its secret. A volunteer's ends
// with the day unless another is given, others after a year; days end at midnight
// in the nursery's place. The first token ever must be a coordinator's: from then
// on nobody comes in without one.
func EnterToken(req models.NewToken, first bool, today models.Date, place *time.Location) (models.Token, error) {
	token := models.Token{
		Name: models.Clean(req.Name), NameKey: models.NameKey(req.Name), Role: req.Role,
		LandManager: models.Clean(req.LandManager), EndsOn: req.EndsOn,
	}
	if token.EndsOn.IsZero() {
		token.EndsOn = usualEnd(req.Role, today)
	}
	token.EndsAt = token.EndsOn.Add(1).At(0, place).UTC()
	return token, checkToken(&token, first, today)
}

func usualEnd(role models.Role, today models.Date) models.Date {
	if role == models.Volunteer {
		return today
	}
	return today.Add(usualTokenDays)
}

func checkToken(t *models.Token, first bool, today models.Date) error {
	var f models.Faults
	needText(&f, "name", t.Name, models.MaxName)
	if !t.Role.Known() {
		f.Add("invalid", "role", t.Role, "is %q, and must be %s", t.Role, models.OneOf(models.Roles))
	}
	checkText(&f, "land_manager", t.LandManager, models.MaxName)
	if first && t.Role != models.Coordinator {
		f.Add("first-token", "role", t.Role, "is %s, and the first token must be a coordinator's: after it nobody comes in without a token", t.Role)
	}
	if t.EndsOn.Before(today) {
		f.Add("invalid", "ends_on", t.EndsOn, "is %s, and today is %s", t.EndsOn, today)
	}
	switch {
	case t.Role == models.Manager && t.LandManager == "":
		f.Add("invalid", "land_manager", nil, "is needed for a manager: it says whose land they see, as the stands name it")
	case t.Role != models.Manager && t.LandManager != "":
		f.Add("invalid", "land_manager", t.LandManager, "goes with the role manager alone")
	}
	return f.Err()
}

// longTokenDays is from where on a token is said to be good for long.
const longTokenDays = 731

// TokenWarnings say what is unwise about a new token; managed says that there are
// stands on the land of its land manager.
func TokenWarnings(t *models.Token, managed bool, today models.Date) []string {
	warnings := []string{}
	if t.Role == models.Manager && !managed {
		warnings = append(warnings, "no stand names "+t.LandManager+" as its land manager, so that this token shows none")
	}
	if t.EndsOn.Sub(today) > longTokenDays {
		warnings = append(warnings, "it is good for over two years: a shorter time limits what a lost token can do")
	}
	return warnings
}
