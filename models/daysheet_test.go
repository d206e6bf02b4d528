package models

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

const dayHeader = "stand,collected_on,stems_cut,cuttings,collected_by"

func TestADaySheetIsRead(t *testing.T) {
	sheet := "\xef\xbb\xbf" + dayHeader + `,parent_plants,length_cm,already_cut,reason,stuck_on,count,bench,bottom_heat,mist,treatment,treatment.soak_days,note` + "\r\n" +
		`TB-01, 2026-01-17 ,24,72,RQ,12,20.5,no,,2026-01-18,70,B2,21.5,yes,split heel,3,"tall, at the
north end"` + "\r\n" +
		`TB-02,2026-01-17,3,9,Åse Q,,,YES,two crews,,,,,,,,` + "\r\n" +
		",,,,,,,,,,,,,,,,\r\n , ,\r\n"
	rows, err := ParseDay([]byte(sheet))
	if err != nil {
		t.Fatal(err)
	}
	heat := BottomHeat{Recorded: true, Heated: true, Celsius: 21.5}
	want := []DayRow{
		{Line: 2, Batch: NewBatch{
			Stand: "TB-01", CollectedOn: MustDate("2026-01-17"), StemsCut: 24, Cuttings: 72, CollectedBy: "RQ", ParentPlants: ptr(12),
			Details: Details{LengthCM: ptr(20.5), Note: "tall, at the\nnorth end"},
			StuckOn: MustDate("2026-01-18"), Count: ptr(70),
			Tray: Tray{Bench: "B2", BottomHeat: &heat, Mist: true, Treatment: &Treatment{Name: "split heel", SoakDays: ptr(3.0)}},
		}},
		{Line: 4, Batch: NewBatch{
			Stand: "TB-02", CollectedOn: MustDate("2026-01-17"), StemsCut: 3, Cuttings: 9, CollectedBy: "Åse Q", AlreadyCut: true, Reason: "two crews",
		}},
	}
	if diff := cmp.Diff(want, rows, cmp.Comparer(func(a, b Date) bool { return a == b })); diff != "" {
		t.Error(diff)
	}
}

func ptr[T any](v T) *T { return &v }

func TestEveryCellThatCannotBeReadIsTold(t *testing.T) {
	sheet := dayHeader + ",length_cm,already_cut,bottom_heat,nodes\n" +
		"TB-01,17.1.2026,two dozen,7.5,RQ,NaN,maybe,60,0x4\n" +
		"TB-01,2026-01-17,24\n" +
		",2026-01-17,24, ,,20,yes,no,4\n" +
		"TB-01,2026-01-17,24,72,RQ,20,yes,no,4\n"
	rows, err := ParseDay([]byte(sheet))
	if err != nil {
		t.Fatal(err)
	}
	var told [][]string
	for _, row := range rows {
		names := []string{}
		for _, fault := range row.Faults {
			names = append(names, fault.Name)
			if fault.Detail == "" {
				t.Errorf("line %d: %s is not explained", row.Line, fault.Name)
			}
		}
		told = append(told, names)
	}
	want := [][]string{{"collected_on", "stems_cut", "cuttings", "length_cm", "already_cut", "bottom_heat", "nodes"}, {"row"}, {"stand", "cuttings", "collected_by"}, {}}
	if diff := cmp.Diff(want, told); diff != "" {
		t.Error(diff)
	}
}

// What is no number is told in the words of its column.
func TestCellsThatAreNoNumbers(t *testing.T) {
	for _, cell := range []string{"NaN", "nan", "Inf", "-Inf", "+Infinity", "1e999"} {
		sheet := dayHeader + ",length_cm,bottom_heat,treatment.auxin_ppm\nTB-01,2026-01-17,24,72,RQ," + cell + "," + cell + "," + cell + "\n"
		rows, err := ParseDay([]byte(sheet))
		if err != nil {
			t.Fatal(err)
		}
		want := []Field{
			{Name: "length_cm", Detail: fmt.Sprintf("is %q, and must be a number with a decimal point", cell), Value: cell},
			{Name: "bottom_heat", Detail: fmt.Sprintf("is %q, and must be yes, no or a temperature from 5 to 45 °C", cell), Value: cell},
			{Name: "treatment.auxin_ppm", Detail: fmt.Sprintf("is %q, and must be a number with a decimal point", cell), Value: cell},
		}
		if diff := cmp.Diff(want, rows[0].Faults); diff != "" {
			t.Error(diff)
		}
	}
}

func TestSheetsThatCannotBeRead(t *testing.T) {
	row := "TB-01,2026-01-17,24,72,RQ\n"
	for _, c := range []struct {
		name, sheet string
		kind        Kind
		code        string
		says        string
	}{
		{"nothing", "", Malformed, "malformed", "is empty"},
		{"only a mark", "\xef\xbb\xbf", Malformed, "malformed", "is empty"},
		{"another encoding", dayHeader + "\n" + row + "TB-01,2026-01-17,3,9,R\xe9my\n", Malformed, "malformed", "line 3 of the day sheet is not text in UTF-8"},
		{"no rows", dayHeader + "\n", Invalid, "invalid", "no rows"},
		{"an open quote", dayHeader + "\nTB-01,\"2026-01-17,24,72,RQ\n", Malformed, "malformed", "line 2"},
		{"a stray quote", dayHeader + "\n" + row + "TB\"01,2026-01-17,24,72,RQ\n", Malformed, "malformed", "line 3"},
		{"an open quote at once", "\"stand", Malformed, "malformed", "line 1"},
		{"an unknown column", dayHeader + ",colour\n" + row, Invalid, "unknown-column", "colour"},
		{"a column in capitals", strings.ToUpper(dayHeader) + "\n" + row, Invalid, "unknown-column", "STAND"},
		{"a column twice", dayHeader + ",stand\n" + row, Invalid, "invalid", "stand is there twice"},
		{"a column missing", "stand,collected_on,stems_cut,cuttings\nTB-01,2026-01-17,24,72\n", Invalid, "invalid", "collected_by is a column that is missing"},
		{"too many rows", dayHeader + "\n" + strings.Repeat(row, MaxDayRows+1), Invalid, "invalid", "more than 2000 rows"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := ParseDay([]byte(c.sheet))
			e := AsError(err)
			if e == nil {
				t.Fatalf("the error is %v", err)
			}
			if e.Kind != c.kind || e.Code != c.code || !strings.Contains(e.Error(), c.says) {
				t.Errorf("%s %s: %s; want %s %s: …%s", e.Kind, e.Code, e, c.kind, c.code, c.says)
			}
		})
	}
	if rows, err := ParseDay([]byte(dayHeader + "\n" + strings.Repeat(row, MaxDayRows))); err != nil || len(rows) != MaxDayRows {
		t.Errorf("%d rows, %v", len(rows), err)
	}
}

func TestEveryColumnIsRead(t *testing.T) {
	cells := map[string]string{
		"collected_on": "2026-01-17", "stuck_on": "2026-01-18", "already_cut": "yes", "mist": "true", "bottom_heat": "no",
		"stems_cut": "24", "cuttings": "72", "parent_plants": "12", "nodes": "4", "count": "70",
		"parents": "D-07=14/42; D-08=10/30:male",
	}
	numbers := []string{"permit_quantity", "length_cm", "diameter_mm", "wood_age_years", "hours_to_water", "treatment.soak_days", "treatment.auxin_ppm",
		"treatment.auxin_percent", "treatment.willow_water_g_per_l", "treatment.willow_water_hours"}
	for _, name := range DayColumns() {
		cell, known := cells[name]
		switch {
		case known:
		case slices.Contains(numbers, name):
			cell = "1.5"
		default:
			cell = "words"
		}
		header, row := dayHeader+","+name, "TB-01,2026-01-17,24,72,RQ,"+cell
		if strings.Contains(dayHeader, name) {
			header, row = dayHeader, "TB-01,2026-01-17,24,72,RQ"
		}
		rows, err := ParseDay([]byte(header + "\n" + row + "\n"))
		if err != nil || len(rows) != 1 || len(rows[0].Faults) > 0 {
			t.Errorf("%s: %+v, %v", name, rows, err)
			continue
		}
		plain, _ := ParseDay([]byte(dayHeader + "\nTB-01,2026-01-17,24,72,RQ\n"))
		if header != dayHeader && cmp.Equal(plain[0].Batch, rows[0].Batch, cmp.Comparer(func(a, b Date) bool { return a == b })) {
			t.Errorf("%s changes nothing", name)
		}
	}
}

func FuzzParseDay(f *testing.F) {
	for _, seed := range []string{
		dayHeader + "\nTB-01,2026-01-17,24,72,RQ\n",
		"\xef\xbb\xbf" + dayHeader + ",treatment,treatment.auxin_ppm,bottom_heat\nTB-01,2026-01-17,24,72,RQ,dip,3000,21\n",
		dayHeader + "\n,,,,\n\"a\"\"b\",x,1,2,3\n",
		"\"",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, sheet []byte) {
		rows, err := ParseDay(sheet)
		if err != nil {
			if AsError(err) == nil {
				t.Errorf("the error is not one a person can mend: %v", err)
			}
			return
		}
		if len(rows) == 0 || len(rows) > MaxDayRows {
			t.Errorf("%d rows", len(rows))
		}
		line := 1
		for _, row := range rows {
			if row.Line <= line {
				t.Errorf("line %d after line %d", row.Line, line)
			}
			line = row.Line
			for _, fault := range row.Faults {
				if fault.Name == "" || fault.Detail == "" {
					t.Errorf("line %d: a fault without words: %s", line, fmt.Sprint(fault))
				}
			}
		}
	})
}
