package rules_test

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
)

var wrenlow = rules.PeopleOf([]string{"OP", "RQ", "ty-2"})

// field is a field that names people, with its text.
func field(text string) []models.PersonField {
	return []models.PersonField{{Name: "collected_by", Text: &text}}
}

func TestCodesAreWrittenAsTheListSpellsThem(t *testing.T) {
	for text, want := range map[string]string{
		"RQ": "RQ", " rq ": "RQ", "Ty-2": "ty-2", "rq, op": "RQ, OP", "rq;op;rq": "RQ, OP", ",rq, ": "RQ", "": "", " \t": "",
	} {
		f := field(text)
		warnings := wrenlow.Settle(f)
		if *f[0].Text != want || len(warnings) > 0 {
			t.Errorf("%q becomes %q with %q, want %q", text, *f[0].Text, warnings, want)
		}
		f = field(text)
		if wrenlow.Veil(f); *f[0].Text != want {
			t.Errorf("%q is shown as %q, want %q", text, *f[0].Text, want)
		}
	}
}

func TestOtherTextIsKeptWithAWarningAndNotShown(t *testing.T) {
	for text, kept := range map[string]string{
		"Tam,  the younger": "Tam, the younger", "RQ, Tam": "RQ, Tam", "RQ OP": "RQ OP", ",": ",", "R-Q": "R-Q",
	} {
		f := field(text)
		warnings := wrenlow.Settle(f)
		if *f[0].Text != kept || len(warnings) != 1 {
			t.Fatalf("%q becomes %q with %q", text, *f[0].Text, warnings)
		}
		for _, says := range []string{"collected_by", kept, models.NotListed, "kept as written", "withy person add"} {
			if !strings.Contains(warnings[0], says) {
				t.Errorf("the warning %q does not say %q", warnings[0], says)
			}
		}
		if wrenlow.Veil(f); *f[0].Text != models.NotListed {
			t.Errorf("%q is shown as %q", text, *f[0].Text)
		}
	}
}

func TestNothingIsHeldAgainstAnEmptyList(t *testing.T) {
	for _, nobody := range []rules.People{rules.PeopleOf(nil), {}} {
		f := field("Tam,  the younger")
		warnings := nobody.Settle(f)
		nobody.Veil(f)
		if *f[0].Text != "Tam,  the younger" || len(warnings) > 0 {
			t.Errorf("it is %q with %q", *f[0].Text, warnings)
		}
	}
	if told := rules.FirstPerson(rules.PeopleOf(nil)); len(told) != 1 || !strings.Contains(told[0], models.NotListed) {
		t.Errorf("the first person is told %q", told)
	}
	if told := rules.FirstPerson(wrenlow); len(told) > 0 {
		t.Errorf("another person is told %q", told)
	}
}

func TestAVeiledBatchLeavesTheRecordAsItIs(t *testing.T) {
	r := &models.BatchRecord{Batch: models.Batch{CollectedBy: "rq", IdentifiedBy: "Tam"}, Checks: []models.Check{{CheckedBy: "Tam"}}}
	shown := wrenlow.Veiled(r)
	if shown.CollectedBy != "RQ" || shown.IdentifiedBy != models.NotListed || shown.Checks[0].CheckedBy != models.NotListed {
		t.Errorf("shown as %+v", shown)
	}
	if r.CollectedBy != "rq" || r.IdentifiedBy != "Tam" || r.Checks[0].CheckedBy != "Tam" {
		t.Errorf("the record is %+v", r)
	}
}

var (
	someCodes  = rapid.SliceOfN(rapid.StringMatching(`[A-Za-z0-9][A-Za-z0-9-]{0,3}`), 1, 6)
	someText   = rapid.StringMatching(`([A-Ca-c1 ,;-]|Tam|é){0,12}`)
	someFields = rapid.SliceOfN(someText, 0, 4)
)

func fieldsOf(texts []string) (fields []models.PersonField) {
	for i := range texts {
		fields = append(fields, models.PersonField{Name: "by", Text: &texts[i]})
	}
	return fields
}

// What is settled stays as it is; what is shown is made of codes of the list, and
// is the same of a settled text as of one that was not.
func TestSettlingAndVeiling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		codes := someCodes.Draw(t, "codes")
		people := rules.PeopleOf(codes)
		texts := someFields.Draw(t, "texts")
		unsettled := slices.Clone(texts)
		first := people.Settle(fieldsOf(texts))
		once := slices.Clone(texts)
		second := people.Settle(fieldsOf(texts))
		if !slices.Equal(once, texts) || !slices.Equal(first, second) {
			t.Fatalf("%q settles to %q with %q, then to %q with %q", unsettled, once, first, texts, second)
		}
		people.Veil(fieldsOf(texts))
		people.Veil(fieldsOf(unsettled))
		if !slices.Equal(texts, unsettled) {
			t.Fatalf("settled it shows as %q, unsettled as %q", texts, unsettled)
		}
		for _, text := range texts {
			wantCodes(t, text, codes)
		}
	})
}

// wantCodes fails for a text that shows anything but codes of the list, or that
// there is none.
func wantCodes(t interface{ Fatalf(string, ...any) }, text string, codes []string) {
	if text == "" || text == models.NotListed {
		return
	}
	for _, part := range strings.Split(text, ", ") {
		if !slices.Contains(codes, part) {
			t.Fatalf("%q shows %q, which is no code of %q", text, part, codes)
		}
	}
}

func FuzzSettle(f *testing.F) {
	for _, text := range []string{"", "rq", "RQ, op;TY-2", "Tam, the younger", ",;", "\xff", "rq\x00", "ſ"} {
		f.Add(text)
	}
	codes := []string{"OP", "RQ", "ty-2"}
	f.Fuzz(func(t *testing.T, text string) {
		settled := field(text)
		warnings := wrenlow.Settle(settled)
		once := *settled[0].Text
		if again := wrenlow.Settle(settled); *settled[0].Text != once || len(again) != len(warnings) {
			t.Fatalf("%q settles to %q, then to %q", text, once, *settled[0].Text)
		}
		if len(warnings) == 0 {
			wantCodes(t, once, codes)
		} else if once != models.Clean(text) {
			t.Fatalf("%q is kept as %q", text, once)
		}
		wrenlow.Veil(settled)
		wantCodes(t, *settled[0].Text, codes)
	})
}
