package models

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"
)

type aForm struct {
	Stand    string   `json:"stand"`
	StemsCut int      `json:"stems_cut"`
	Plants   *int     `json:"parent_plants,omitempty"`
	On       Date     `json:"collected_on"`
	Lost     Losses   `json:"lost,omitempty"`
	Share    *Decimal `json:"permit_quantity,omitempty"`
	Parents  []Parent `json:"parents,omitempty"`
	hidden   string   // is no field of JSON
	Details
}

func TestChangesAreMadeToAForm(t *testing.T) {
	twelve := 12
	was := aForm{Stand: "MB-03", StemsCut: 24, Plants: &twelve, On: MustDate("2026-01-17"), Lost: Losses{Mould: 2}, Details: Details{Note: "north end", Kind: Hardwood}, hidden: "x"}
	changes := Changes{
		StemsCut: SetTo(28), ParentPlants: SetNull[int](), Lost: SetTo(Losses{Dried: 1}), Note: SetTo("south end"), Kind: SetNull[CuttingKind](),
		PermitQuantity: SetTo(MustDecimal("2.5")), Parents: SetTo([]Parent{{Tag: "D-07", Stems: 28}}), Rooted: SetTo(3), By: SetNull[string](),
	}
	is, strays, err := Apply(was, changes)
	if err != nil || !slices.Equal(strays, []string{"by", "rooted"}) {
		t.Errorf("%v, strays %v", err, strays)
	}
	quantity := MustDecimal("2.5")
	want := aForm{Stand: "MB-03", StemsCut: 28, On: was.On, Lost: Losses{Dried: 1}, Share: &quantity, Parents: []Parent{{Tag: "D-07", Stems: 28}}, Details: Details{Note: "south end"}}
	if !reflect.DeepEqual(is, want) {
		t.Errorf("it became %+v, want %+v", is, want)
	}
	if *was.Plants != 12 || was.Lost[Mould] != 2 {
		t.Errorf("the first form is %+v", was)
	}
	same, strays, err := Apply(was, Changes{})
	if was.hidden = ""; err != nil || len(strays) != 0 || !reflect.DeepEqual(same, was) {
		t.Errorf("no changes make it %+v, %v, %v", same, strays, err)
	}
}

// A change is read from JSON as a merge patch: left out, null and a value are three
// things, and written it is the same again.
func TestChangesAreAMergePatch(t *testing.T) {
	const text = `{"collected_on":"2026-01-16","stems_cut":28,"note":null,"mist":false,"bottom_heat":21,"treatment":"split heel"}`
	var c Changes
	if err := json.Unmarshal([]byte(text), &c); err != nil {
		t.Fatal(err)
	}
	if c.StemsCut.Value != 28 || !c.Note.IsNull() || c.Cuttings.IsSet() || !c.Mist.IsSet() || c.Mist.Value || c.BottomHeat.Value.Celsius != 21 || c.Treatment.Value.Name != "split heel" {
		t.Errorf("%+v", c)
	}
	said, err := Said(c)
	if err != nil || len(said) != 6 || said["note"] != nil {
		t.Errorf("it says %v, %v", said, err)
	}
	if none, err := Said(Changes{}); err != nil || len(none) != 0 {
		t.Errorf("no changes say %v, %v", none, err)
	}
}

// Every change is a field of some request about a batch, with the type it has there.
func TestEveryChangeBelongsToARequest(t *testing.T) {
	fields := map[string]reflect.Type{}
	for _, form := range []reflect.Type{
		reflect.TypeFor[CutForm](), reflect.TypeFor[NewSticking](), reflect.TypeFor[NewMove](), reflect.TypeFor[NewCheck](), reflect.TypeFor[NewPotting](), reflect.TypeFor[NewDecision](),
	} {
		for _, field := range reflect.VisibleFields(form) {
			name, _, _ := strings.Cut(field.Tag.Get("json"), ",")
			of := field.Type
			if of.Kind() == reflect.Pointer {
				of = of.Elem()
			}
			if name != "" && name != "-" {
				fields[name] = of
			}
		}
	}
	changes := reflect.TypeFor[Changes]()
	for i := range changes.NumField() {
		name, _, _ := strings.Cut(changes.Field(i).Tag.Get("json"), ",")
		value, _ := changes.Field(i).Type.FieldByName("Value")
		if fields[name] != value.Type {
			t.Errorf("%s is changed as %v, and is %v", name, value.Type, fields[name])
		}
		delete(fields, name)
	}
	if len(fields) != 0 {
		t.Errorf("nothing changes %v", fields)
	}
	for _, name := range jsonNames(reflect.TypeFor[CutForm]()) {
		if !slices.Contains(jsonNames(reflect.TypeFor[NewBatch]()), name) {
			t.Errorf("%s is no field of a new batch", name)
		}
	}
}

func TestDifferences(t *testing.T) {
	was := map[string]any{"stems": 24.0, "note": "x", "lost": map[string]any{"mould": 1.0}, "same": []any{1.0}}
	is := map[string]any{"stems": 28.0, "kind": "hardwood", "lost": map[string]any{"mould": 2.0}, "same": []any{1.0}}
	before, after := Differences(was, is)
	if !reflect.DeepEqual(before, map[string]any{"stems": 24.0, "note": "x", "lost": map[string]any{"mould": 1.0}}) ||
		!reflect.DeepEqual(after, map[string]any{"stems": 28.0, "kind": "hardwood", "lost": map[string]any{"mould": 2.0}}) {
		t.Errorf("from %v to %v", before, after)
	}
	if before, after := Differences(was, was); len(before)+len(after) != 0 {
		t.Errorf("nothing differs from %v to %v", before, after)
	}
}

func TestQualifiedNames(t *testing.T) {
	for _, c := range []struct {
		name string
		q    Qualifier
		want string
	}{
		{"Salix scouleriana", "", "Salix scouleriana"},
		{"Salix scouleriana", Compare, "Salix cf. scouleriana"},
		{"Cornus sericea subsp. occidentalis", Affinity, "Cornus aff. sericea subsp. occidentalis"},
		{"Cornus sericea", Doubtful, "Cornus ? sericea"},
		{"Salix", Compare, "cf. Salix"},
	} {
		if got := QualifiedName(c.name, c.q); got != c.want {
			t.Errorf("%s with %q is %q, want %q", c.name, c.q, got, c.want)
		}
	}
}

func TestWhichFieldsOfACorrectionNamePeople(t *testing.T) {
	for name, want := range map[string]bool{"by": true, "collected_by": true, "surveyed_by": true, "cut_by": false, "replaced_by": false, "counted_by_two": false, "note": false} {
		if NamesPerson(name) != want {
			t.Errorf("%s names a person: %v", name, !want)
		}
	}
}

func TestACorrectionTellsOfEveryPersonItNames(t *testing.T) {
	req := NewCorrection{By: "a", Changes: Changes{
		CollectedBy: SetTo("b"), IdentifiedBy: SetTo("c"), By: SetTo("d"), StuckBy: SetTo("e"), CheckedBy: SetTo("f"), PottedBy: SetTo("g"),
	}}
	var got []string
	for _, field := range req.PersonFields() {
		got = append(got, field.Name+" "+*field.Text)
		*field.Text = "x"
	}
	want := []string{"by a", "changes.collected_by b", "changes.identified_by c", "changes.by d", "changes.stuck_by e", "changes.checked_by f", "changes.potted_by g"}
	if !slices.Equal(got, want) || req.Changes.PottedBy.Value != "x" {
		t.Errorf("it tells of %v", got)
	}
	survey := NewSurveyCorrection{By: "a", Survey: &NewSurvey{SurveyedBy: "b"}}
	if fields := survey.PersonFields(); len(fields) != 2 || fields[1].Name != "survey.surveyed_by" || *fields[1].Text != "b" {
		t.Errorf("%v", fields)
	}
	if fields := (&NewSurveyCorrection{}).PersonFields(); len(fields) != 1 {
		t.Errorf("%v", fields)
	}
}
