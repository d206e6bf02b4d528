package rules_test

import (
	"fmt"
	"io"
	"os"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"withybed/models"
	"withybed/models/rules"
	"withybed/models/stats"
)

const checkHeader = "batch,treatment,stuck_on,cuttings,checked_on,rooted,lost\n"

func readChecks(text string) (rules.CheckFile, error) {
	return rules.ReadChecks(strings.NewReader(text), rules.UsualFinal, nil)
}

func TestReadChecks(t *testing.T) {
	file, err := readChecks("\ufeffCUTTINGS,batch,stuck_on,checked_on,rooted,lost,withdrawn,finished_on,block,treatment\r\n" +
		"20,B,2026-01-01,2026-02-12,15,2,1,2026-03-01,north,willow water\r\n" +
		"20,B,2026-01-01,2026-01-15,2,1,0,2026-03-01,north,Willow  water\r\n" +
		"20,B,2026-01-01,2026-01-29,,2,0,2026-03-01,north,willow water\r\n" +
		"20,B,2026-01-01,2026-01-29,,2,0,2026-03-01,north,willow water\r\n" +
		"20,B,2026-01-01,2026-01-01,0,0,0,2026-03-01,north,willow water\r\n" +
		"8,\"A, the first\",2026-01-01,,,,,,,\r\n,,,,,,,,,\r\n")
	if err != nil {
		t.Fatal(err)
	}
	if len(file.Batches) != 2 || file.Rows != 6 {
		t.Fatalf("%d batches of %d rows", len(file.Batches), file.Rows)
	}
	if a := file.Batches[0]; a.Lot.ID != "A, the first" || len(a.Lot.Looks) != 0 || a.Lot.Cuttings != 8 || len(a.Keys) != 0 {
		t.Errorf("%+v", a)
	}
	b := file.Batches[1]
	want := stats.Lot{ID: "B", Cuttings: 20, Finished: true, Looks: []stats.Look{
		{Day: 14, Rooted: 2, Lost: 1, Saw: stats.SawRoots}, {Day: 28, Lost: 1, Saw: stats.SawLosses},
		{Day: 42, Rooted: 13, Withdrawn: 1, Saw: stats.SawRoots},
	}}
	if diff := cmp.Diff(want, b.Lot); diff != "" {
		t.Error(diff)
	}
	if b.Block != "north" || b.Keys["treatment"] != "Willow water" || b.FinalAt != 84 {
		t.Errorf("%+v", b)
	}
}

// TestRowsThatCannotBe wants each slip told with its line, and nothing else.
func TestRowsThatCannotBe(t *testing.T) {
	cases := []struct {
		name, rows string
		want       []string
	}{
		{"no day", "B,,2026-02-30,20,2026-01-15,1,0", []string{"line 2: stuck_on"}},
		{"no batch", ",,2026-01-01,20,2026-01-15,1,0", []string{"line 2: batch"}},
		{"not stuck", "B,,,20,2026-01-15,1,0", []string{"line 2: stuck_on"}},
		{"no cuttings", "B,,2026-01-01,0,2026-01-15,0,0", []string{"line 2: cuttings"}},
		{"half a cutting", "B,,2026-01-01,20,2026-01-15,1.5,0", []string{"line 2: rooted"}},
		{"below nought", "B,,2026-01-01,20,2026-01-15,1,-1", []string{"line 2: lost"}},
		{"losses left empty", "B,,2026-01-01,20,2026-01-15,1,", []string{"line 2: lost"}},
		{"counts without a check", "B,,2026-01-01,20,,3,0", []string{"line 2: rooted"}},
		{"too many cells", "B,,2026-01-01,20,2026-01-15,1,0,0", []string{"line 2: row"}},
		{"before sticking", "B,,2026-01-10,20,2026-01-05,1,0", []string{"line 2: checked_on"}},
		{"rooted on the day", "B,,2026-01-10,20,2026-01-10,1,0", []string{"line 2: checked_on"}},
		{"more than were stuck", "B,,2026-01-01,20,2026-01-15,18,3", []string{"line 2: rooted"}},
		{"falls", "B,,2026-01-01,20,2026-01-15,9,1\nB,,2026-01-01,20,2026-01-22,8,0", []string{"line 3: rooted", "line 3: lost"}},
		{"falls past a look at losses alone", "B,,2026-01-01,20,2026-01-15,9,1\nB,,2026-01-01,20,2026-01-18,,1\nB,,2026-01-01,20,2026-01-22,8,1", []string{"line 4: rooted"}},
		{"two on one day", "B,,2026-01-01,20,2026-01-15,9,1\nB,,2026-01-01,20,2026-01-15,8,1", []string{"line 2: checked_on", "line 3: checked_on"}},
		{"does not agree", "B,none,2026-01-01,20,2026-01-15,9,1\nB,IBA,2026-01-02,21,2026-01-22,9,1", []string{"line 3: stuck_on", "line 3: cuttings", "line 3: treatment"}},
		{"all at once", "B,,x,20,2026-01-15,1,0\nC,,2026-01-01,20,2026-01-15,30,0\nD,,2026-01-01,20,y,1,z", []string{"line 2: stuck_on", "line 3: rooted", "line 4: checked_on", "line 4: lost"}},
		{"one row does not hide another", "B,,2026-01-01,20,2026-01-15,x,0\nB,,2026-01-01,20,2026-01-22,30,0", []string{"line 2: rooted", "line 3: rooted"}},
		{"not CSV", "B,,2026-01-01,20,2026-01-15,1,0\nB,\"x\"y,2026-01-01,20,2026-01-16,1,0\nB,,2026-01-01,20,2026-01-17,x,0", []string{"line 3: row", "line 4: rooted"}},
		{"not text", "B\xff,,2026-01-01,20,2026-01-15,1,0", []string{"line 2: batch"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := readChecks(checkHeader + c.rows + "\n")
			known := models.AsError(err)
			if known == nil || known.Kind != models.Invalid {
				t.Fatalf("error %v", err)
			}
			var got []string
			for _, f := range known.Fields {
				got = append(got, f.Name)
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("at fault %q, want %q: %v", got, c.want, err)
			}
		})
	}
}

func TestFinishedIsTheEnd(t *testing.T) {
	header := "batch,stuck_on,cuttings,checked_on,rooted,lost,finished_on\n"
	for _, rows := range []string{
		"B,2026-01-10,20,2026-02-20,3,0,2026-02-10\n",
		"B,2026-01-10,20,,,,2026-01-05\n",
		"B,2026-01-10,20,2026-02-01,3,0,2026-02-10\nB,2026-01-10,20,2026-02-05,3,0,\n",
	} {
		if _, err := readChecks(header + rows); models.AsError(err) == nil {
			t.Errorf("%q is read: %v", rows, err)
		}
	}
}

func TestFilesThatCannotBeRead(t *testing.T) {
	for text, want := range map[string]string{
		"":                                    "empty",
		"batch,stuck_on\n":                    "missing",
		checkHeader:                           "no rows",
		"batch,roted" + checkHeader[5:]:       "rooted",
		checkHeader + "\"B,,2026-01-01,20,,,": "line 2",
		"\xff\xfeb\x00a\x00":                  "UTF-8",
	} {
		_, err := readChecks(text)
		if known := models.AsError(err); known == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want a word of %s", text, err, want)
		}
	}
}

// TestManyFaultsAreCapped tells a thousand, and how many more there are.
func TestManyFaultsAreCapped(t *testing.T) {
	var b strings.Builder
	b.WriteString(checkHeader)
	for i := range 1500 {
		fmt.Fprintf(&b, "B%d,,2026-01-01,20,2026-01-15,99,0\n", i)
	}
	_, err := readChecks(b.String())
	known := models.AsError(err)
	if known == nil || len(known.Fields) != 1000 || !strings.Contains(known.Detail, "500 more") {
		t.Errorf("%d fields: %s", len(known.Fields), known.Detail)
	}
}

// TestSpellingsOfOneTreatment do not hang on which row comes first.
func TestSpellingsOfOneTreatment(t *testing.T) {
	rows := []string{"B,Willow water,2026-01-01,20,2026-01-15,1,0\n", "B,willow water,2026-01-01,20,2026-01-22,2,0\n"}
	one, err1 := readChecks(checkHeader + rows[0] + rows[1])
	two, err2 := readChecks(checkHeader + rows[1] + rows[0])
	if err1 != nil || err2 != nil || !reflect.DeepEqual(one, two) {
		t.Errorf("%v %v: %+v and %+v", err1, err2, one, two)
	}
}

func TestNamesThatMayBeOneBatch(t *testing.T) {
	file, err := readChecks(checkHeader + "b1,,2026-01-01,20,,,\nB1,,2026-01-01,20,,,\nB2,,2026-01-01,20,,,\n")
	if err != nil || len(file.Batches) != 3 || len(file.Warnings) != 1 || !strings.Contains(file.Warnings[0], `"b1"`) {
		t.Errorf("%v %q", err, file.Warnings)
	}
}

// TestRowsInAnyOrder writes lots as a file and reads them back, whatever the
// order of the rows.
func TestRowsInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var rows []string
		var want []stats.Lot
		for i := range rapid.IntRange(1, 5).Draw(t, "batches") {
			l := stats.Lot{ID: fmt.Sprintf("B%d", i), Cuttings: 30}
			rooted, lost, day := int32(0), int32(0), 0
			stuck := models.MustDate("2026-01-10")
			if rapid.Bool().Draw(t, "unchecked too") {
				rows = append(rows, fmt.Sprintf("B%d,,2026-01-10,30,,,", i))
			}
			for range rapid.IntRange(0, 4).Draw(t, "looks") {
				day += rapid.IntRange(1, 30).Draw(t, "days")
				k := stats.Look{Day: int32(day), Saw: stats.SawRoots, Rooted: rapid.Int32Range(0, 30-rooted-lost).Draw(t, "rooted")}
				k.Lost = rapid.Int32Range(0, 30-rooted-lost-k.Rooted).Draw(t, "lost")
				rooted, lost = rooted+k.Rooted, lost+k.Lost
				rows = append(rows, fmt.Sprintf("B%d,,2026-01-10,30,%s,%d,%d", i, stuck.Add(day), rooted, lost))
				l.Looks = append(l.Looks, k)
			}
			if len(l.Looks) == 0 {
				rows = append(rows, fmt.Sprintf("B%d,,2026-01-10,30,,,", i))
			}
			want = append(want, l)
		}
		file, err := readChecks(checkHeader + strings.Join(rapid.Permutation(rows).Draw(t, "rows"), "\n"))
		if err != nil {
			t.Fatal(err)
		}
		var got []stats.Lot
		for _, w := range file.Batches {
			got = append(got, w.Lot)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatal(diff)
		}
	})
}

// TestTheExampleIsRead reads the file that the pages show.
func TestTheExampleIsRead(t *testing.T) {
	from, err := os.Open("../../testdata/checks.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = from.Close() }()
	file, err := rules.ReadChecks(from, rules.UsualFinal, nil)
	if err != nil {
		t.Fatal(err)
	}
	treatments, blocks := map[string]int{}, map[string]int{}
	for _, w := range file.Batches {
		treatments[w.Keys["treatment"]]++
		blocks[w.Block]++
	}
	if len(file.Batches) != 13 || treatments["none"] != 7 || treatments["willow water"] != 6 || blocks["17 January"] != 2 {
		t.Errorf("%v %v", treatments, blocks)
	}
}

// FuzzReadChecks never panics, and whatever is read can be.
func FuzzReadChecks(f *testing.F) {
	f.Add(checkHeader + "B,none,2026-01-01,20,2026-01-15,2,1\nB,none,2026-01-01,20,2026-01-22,,3\n")
	f.Add("batch,stuck_on,cuttings,checked_on,rooted,lost,withdrawn,finished_on,block\nB,2026-01-01,20,2026-01-15,2,1,3,2026-05-01,x\n")
	f.Fuzz(func(t *testing.T, text string) {
		file, err := readChecks(text)
		if err != nil {
			return
		}
		for _, w := range file.Batches {
			if err := w.Lot.Check(); err != nil {
				t.Fatal(err)
			}
		}
	})
}

// BenchmarkReadChecks reads a million rows, and reports the most memory that the
// process held meanwhile and with all batches read.
func BenchmarkReadChecks(b *testing.B) {
	for b.Loop() {
		runtime.GC()
		peak := uint64(0)
		weigh := func(int) {
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			peak = max(peak, m.Sys-m.HeapReleased)
		}
		file, err := rules.ReadChecks(&manyRows{}, rules.UsualFinal, weigh)
		if err != nil || file.Rows != 1_000_000 {
			b.Fatal(file.Rows, err)
		}
		weigh(file.Rows)
		b.ReportMetric(float64(peak)/(1<<20), "MiB-held")
	}
}

// manyRows is a file of a million rows, made as it is read.
type manyRows struct {
	rows int
	rest []byte
}

func (m *manyRows) Read(to []byte) (int, error) {
	if len(m.rest) == 0 {
		if m.rows > 1_000_000 {
			return 0, io.EOF
		}
		m.rest = []byte(m.next())
		m.rows++
	}
	n := copy(to, m.rest)
	m.rest = m.rest[n:]
	return n, nil
}

// next is batch after batch of eight weekly checks.
func (m *manyRows) next() string {
	if m.rows == 0 {
		return checkHeader
	}
	batch, look := (m.rows-1)/8, (m.rows-1)%8
	stuck := models.MustDate("2025-11-01").Add(batch % 90)
	return fmt.Sprintf("MB-03-2026-%d,treatment %d,%s,40,%s,%d,%d\n", batch, batch%7, stuck, stuck.Add(7*(look+1)), 3*look, look)
}
