package models

import (
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// people are nouns with the fields that name people: requests, and what is shown.
var people = map[string]interface{ PersonFields() []PersonField }{
	"NewBatch": &NewBatch{}, "NewSticking": &NewSticking{}, "NewCheck": &NewCheck{}, "NewPotting": &NewPotting{},
	"NewDecision": &NewDecision{}, "NewReview": &NewReview{}, "NewSurvey": &NewSurvey{}, "NewDisturbance": &NewDisturbance{},
	"NewPermit": &NewPermit{}, "PermitEdit": &PermitEdit{}, "PermitView": &PermitView{},
	"StandEdit": &StandEdit{}, "Arm": &Arm{}, "Sticking": &Sticking{}, "LedgerLine": &LedgerLine{},
	"NewVoid": &NewVoid{}, "NewStandCorrection": &NewStandCorrection{}, "NewDetermination": &NewDetermination{}, "Correction": &Correction{}, "Determination": &Determination{}, "Survey": &Survey{}, "Disturbance": &Disturbance{},
}

var byWhom = regexp.MustCompile(`(^|_)by(,|$)`)

// A field that is called by, or ends in _by, names a person.
func TestEveryFieldThatNamesAPersonIsTold(t *testing.T) {
	for name, noun := range people {
		told := map[string]*string{}
		for _, field := range noun.PersonFields() {
			told[field.Name] = field.Text
		}
		v := reflect.ValueOf(noun).Elem()
		found := 0
		for _, field := range reflect.VisibleFields(v.Type()) {
			tag := field.Tag.Get("json")
			if !byWhom.MatchString(tag) || field.Type.Kind() != reflect.String {
				continue
			}
			found++
			text := v.FieldByIndex(field.Index).Addr().Interface().(*string)
			if called, _, _ := strings.Cut(tag, ","); told[called] != text {
				t.Errorf("%s does not tell of %s", name, called)
			}
		}
		if found == 0 || found != len(told) {
			t.Errorf("%s has %d fields that name people, and tells of %d", name, found, len(told))
		}
	}
}

func TestASplitTellsOfEveryArm(t *testing.T) {
	split := NewSplit{Arms: []Arm{{Tray: Tray{StuckBy: "RQ"}}, {}, {Tray: Tray{StuckBy: "OP"}}}}
	fields := split.PersonFields()
	if len(fields) != 3 || fields[2].Name != "arms[2].stuck_by" || *fields[0].Text != "RQ" || *fields[2].Text != "OP" {
		t.Errorf("%v", fields)
	}
}

func TestAPermitTellsOfEveryOneItNames(t *testing.T) {
	terms := PermitTerms{People: []string{"a", "b"}}
	for _, c := range []struct {
		noun interface{ PersonFields() []PersonField }
		want string
	}{
		{&NewPermit{PermitTerms: terms, By: "c"}, "people[0]=a people[1]=b by=c"},
		{&PermitEdit{People: SetTo([]string{"a"}), By: "c"}, "people[0]=a by=c"},
		{&PermitView{PermitTerms: terms, EnteredBy: "c", Earlier: []EarlierTerms{{Terms: PermitTerms{People: []string{"d"}}, ChangedBy: "e"}}},
			"people[0]=a people[1]=b by=c people[0]=d by=e"},
		{&StandRecord{Permits: []Permit{{PermitTerms: terms}}, NestChecks: []NestLook{{CheckedBy: "c"}}}, "people[0]=a people[1]=b by=c"},
	} {
		var told []string
		for _, f := range c.noun.PersonFields() {
			told = append(told, f.Name+"="+*f.Text)
		}
		if got := strings.Join(told, " "); got != c.want {
			t.Errorf("%T tells of %s, want %s", c.noun, got, c.want)
		}
	}
}

func named() *BatchRecord {
	return &BatchRecord{
		Batch: Batch{CollectedBy: "a", IdentifiedBy: "b"}, Sticking: &Sticking{Tray: Tray{StuckBy: "c"}},
		Checks: []Check{{CheckedBy: "d"}}, Pottings: []Potting{{PottedBy: "e"}},
		Decisions: []Decision{{DecidedBy: "f"}}, Reviews: []Review{{ReviewedBy: "g"}},
		Corrections: []Correction{{CorrectedBy: "h"}}, Determinations: []Determination{{DeterminedBy: "i"}},
	}
}

func texts(r *BatchRecord) (all []string) {
	for _, field := range r.PersonFields() {
		all = append(all, *field.Text)
	}
	return all
}

func TestACopyOfABatchIsAnother(t *testing.T) {
	first := named()
	want := texts(first)
	if !slices.Equal(want, []string{"a", "b", "c", "d", "e", "f", "g", "h", "i"}) {
		t.Fatalf("a batch names %v", want)
	}
	copied := first.Copy()
	for _, field := range copied.PersonFields() {
		*field.Text = "x"
	}
	if got := texts(first); !slices.Equal(got, want) {
		t.Errorf("after its copy was changed, a batch names %v", got)
	}
	if bare := (&BatchRecord{}).Copy(); bare.Sticking != nil || len(bare.PersonFields()) != 2 {
		t.Errorf("the copy of a bare batch is %+v", bare)
	}
}

func TestWhoSeesNames(t *testing.T) {
	for _, role := range append(slices.Clone(Roles), "") {
		want := role == "" || role == Coordinator
		if got := (Caller{Role: role}).SeesNames(); got != want {
			t.Errorf("a %q sees names: %t", role, got)
		}
	}
}

func TestAnEditOfAPersonTellsWhatItChanges(t *testing.T) {
	edit := PersonEdit{Email: SetTo("rowan@wrenlow.example"), Phone: SetNull[string]()}
	if got := edit.Changed(); !slices.Equal(got, []string{"email", "phone"}) {
		t.Errorf("it tells of %v", got)
	}
	all := PersonEdit{Name: SetTo("a"), Email: SetTo("a"), Phone: SetTo("a"), Note: SetTo("a"), Mail: SetTo([]MailList{})}
	if got := all.Changed(); len(got) != reflect.TypeFor[PersonEdit]().NumField() {
		t.Errorf("an edit of everything tells of %v", got)
	}
}
