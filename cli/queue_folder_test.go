package cli

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
)

func fieldQueue(t *testing.T) queue { return queueIn(t.TempDir(), fieldServer) }

func (q queue) mustAdd(t *testing.T) queued {
	t.Helper()
	e := fieldEntry()
	if err := q.add(&e); err != nil {
		t.Fatal(err)
	}
	return e
}

// ids are the numbers of what can be read in a state, in order.
func (q queue) ids(t *testing.T, state queueState) []int {
	t.Helper()
	list, _, err := q.entries(state)
	if err != nil {
		t.Fatal(err)
	}
	ids := []int{}
	for _, e := range list {
		ids = append(ids, e.ID)
	}
	return ids
}

// A number is never given twice, not even when its entry was sent, or the file of
// the last number is torn or gone.
func TestNumbersAreNeverGivenTwice(t *testing.T) {
	q := fieldQueue(t)
	for want := 1; want <= 6; want++ {
		e := q.mustAdd(t)
		if e.ID != want {
			t.Fatalf("entry %d is %d", want, e.ID)
		}
		switch want {
		case 1, 2:
			if err := q.sent(e); err != nil {
				t.Fatal(err)
			}
		case 3:
			if err := q.move(e, waiting, settled); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(q.folder, "last"), []byte("torn"), 0o600); err != nil {
				t.Fatal(err)
			}
		case 4:
			if err := os.Remove(filepath.Join(q.folder, "last")); err != nil {
				t.Fatal(err)
			}
		}
	}
	if got := fmt.Sprint(q.ids(t, waiting), q.ids(t, settled)); got != "[4 5 6] [3]" {
		t.Error(got)
	}
}

// Nobody else on this computer reads what is kept.
func TestKeptForOneself(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("Windows has other rights than these")
	}
	q := fieldQueue(t)
	e := q.mustAdd(t)
	for path, want := range map[string]os.FileMode{q.folder: 0o700, filepath.Join(q.folder, "waiting"): 0o700, q.file(waiting, e.ID): 0o600} {
		info, err := os.Stat(path)
		if err != nil || info.Mode().Perm() != want {
			t.Errorf("%s: %v %v", path, info.Mode(), err)
		}
	}
}

// A file that cannot be read is told with its path, stays, and is in nobody's way.
func TestUnreadableFilesStay(t *testing.T) {
	q := fieldQueue(t)
	for range 4 {
		q.mustAdd(t)
	}
	elsewhere := queueIn(filepath.Dir(q.folder), "http://other.example")
	other := fieldEntry()
	other.Server = "http://other.example"
	if err := elsewhere.add(&other); err != nil {
		t.Fatal(err)
	}
	foreign, err := os.ReadFile(elsewhere.file(waiting, 1))
	if err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(q.file(waiting, 1))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{
		q.file(waiting, 2): whole[:len(whole)/2], q.file(waiting, 9): whole, q.file(waiting, 1): foreign,
		filepath.Join(q.folder, "waiting", unfinished+"123"): whole, filepath.Join(q.folder, "waiting", "notes.txt"): []byte("ask OP"),
	}
	for path, text := range files {
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	list, bad, err := q.entries(waiting)
	if err != nil || len(list) != 2 || list[0].ID != 3 || list[1].ID != 4 {
		t.Errorf("%+v %v", list, err)
	}
	for _, file := range bad {
		text, err := os.ReadFile(file.Path)
		if want, ours := files[file.Path]; err != nil || !ours || string(text) != string(want) || file.Why == "" {
			t.Errorf("%+v: %v", file, err)
		}
	}
	if len(bad) != len(files) {
		t.Errorf("%d of %d are told", len(bad), len(files))
	}
}

// Where there is no room an entry is not kept, nothing of it is left, and those
// that were kept before are whole.
func TestFullDisk(t *testing.T) {
	folder := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=64k", "withy-test", folder).CombinedOutput(); err != nil {
		t.Skipf("a small disk cannot be made here: %v %s", err, out)
	}
	defer func() {
		if out, err := exec.Command("umount", folder).CombinedOutput(); err != nil {
			t.Errorf("%v %s", err, out)
		}
	}()
	q := queueIn(folder, fieldServer)
	kept := 0
	for ; kept < 1000; kept++ {
		e := fieldEntry()
		e.Body = fmt.Sprintf("%q", strings.Repeat("x", 3000))
		if err := q.add(&e); err != nil {
			if !strings.Contains(err.Error(), "no space left") {
				t.Error(err)
			}
			break
		}
	}
	list, bad, err := q.entries(waiting)
	if kept == 0 || kept == 1000 || len(list) != kept || len(bad) > 0 || err != nil {
		t.Errorf("%d were kept, and %d are there, %v %v", kept, len(list), bad, err)
	}
}

// The process that keeps entries for a test that kills it, or that lets two of
// them run at once. It tells of each entry once it is kept.
func TestKeepForAnother(t *testing.T) {
	folder, entries := os.Getenv("WITHY_TEST_KEEP_IN"), os.Getenv("WITHY_TEST_KEEP")
	if folder == "" {
		t.Skip("it runs for other tests")
	}
	n, err := strconv.Atoi(entries)
	if err != nil {
		t.Fatal(err)
	}
	q := queueIn(folder, fieldServer)
	for range n {
		fmt.Printf("\nkept %d\n", q.mustAdd(t).ID)
	}
}

// keeping starts such a process.
func keeping(t *testing.T, folder string, n int) (*exec.Cmd, *bufio.Scanner) {
	t.Helper()
	cmd := exec.Command(os.Args[0], "-test.run=^TestKeepForAnother$")
	cmd.Env = append(os.Environ(), "WITHY_TEST_KEEP_IN="+folder, "WITHY_TEST_KEEP="+strconv.Itoa(n))
	out, err := cmd.StdoutPipe()
	if err == nil {
		err = cmd.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	return cmd, bufio.NewScanner(out)
}

// told are the numbers that a process tells of, and stop is asked after each.
func told(lines *bufio.Scanner, stop func(ids []int)) (ids []int) {
	for lines.Scan() {
		if number, ok := strings.CutPrefix(lines.Text(), "kept "); ok {
			id, _ := strconv.Atoi(number)
			ids = append(ids, id)
			stop(ids)
		}
	}
	return ids
}

// What a process said that it kept is there whole, however it ends.
func TestKilledWhileItKeeps(t *testing.T) {
	folder := t.TempDir()
	q := queueIn(folder, fieldServer)
	all := map[int]bool{}
	for round := range 8 {
		cmd, lines := keeping(t, folder, 100_000)
		for _, id := range told(lines, func(ids []int) {
			if len(ids) == 5+round {
				_ = cmd.Process.Kill() // what it says after that is read as well
			}
		}) {
			if all[id] {
				t.Errorf("%d was given twice", id)
			}
			all[id] = true
		}
		_ = cmd.Wait() // killed, as was asked for
	}
	there := map[int]bool{}
	for _, id := range q.ids(t, waiting) {
		there[id] = true
	}
	for id := range all {
		if !there[id] {
			t.Errorf("%d was said to be kept, and is not there", id)
		}
	}
	_, bad, err := q.entries(waiting)
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range bad {
		if !strings.HasPrefix(filepath.Base(file.Path), unfinished) {
			t.Errorf("torn: %+v", file)
		}
	}
	t.Logf("%d were said to be kept, %d are there, %d were broken off", len(all), len(there), len(bad))
	if next := q.mustAdd(t); there[next.ID] {
		t.Errorf("%d was given twice", next.ID)
	}
}

// Two processes that keep entries at once keep all of them, under numbers of
// their own.
func TestTwoKeepAtOnce(t *testing.T) {
	const each = 40
	folder := t.TempDir()
	first, linesOfFirst := keeping(t, folder, each)
	second, linesOfSecond := keeping(t, folder, each)
	seen := map[int]bool{}
	for _, lines := range []*bufio.Scanner{linesOfFirst, linesOfSecond} {
		for _, id := range told(lines, func([]int) {}) {
			seen[id] = true
		}
	}
	for _, cmd := range []*exec.Cmd{first, second} {
		if err := cmd.Wait(); err != nil {
			t.Error(err)
		}
	}
	if there := len(queueIn(folder, fieldServer).ids(t, waiting)); len(seen) != 2*each || there != 2*each {
		t.Errorf("%d numbers, %d entries", len(seen), there)
	}
}
