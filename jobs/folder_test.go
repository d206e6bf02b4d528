package jobs_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"withybed/jobs"
	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// files are the files of a folder, by name.
func files(t *testing.T, folder string) map[string][]byte {
	t.Helper()
	found, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	all := map[string][]byte{}
	for _, f := range found {
		if all[f.Name()], err = os.ReadFile(filepath.Join(folder, f.Name())); err != nil {
			t.Fatal(err)
		}
		if info, err := f.Info(); err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("%s may be read by others: %v (%v)", f.Name(), info.Mode(), err)
		}
	}
	return all
}

func someLetter() models.Letter {
	return models.Letter{
		ID: "id-000000007", Occasion: "reminder 2026-03-02", Address: oakley, MessageID: "id-000000007@wrenlow.example", Subject: "Withybed, Wrenlow Vällëy: 3 batches to pot up",
		Text: "Pot up\n  Bench B2\n.\nFrom here on\n--=_id-000000007\n", HTML: "<p>Pot up Bänch B2</p>\n",
		MadeAt: time.Date(2026, 3, 2, 17, 0, 0, 0, time.UTC),
	}
}

func TestALetterInTheFolder(t *testing.T) {
	folder := jobs.Folder{Path: filepath.Join(t.TempDir(), "data", "mail"), From: sender}
	l := someLetter()
	for range 2 { // sent again it takes its own place
		if err := folder.Send(t.Context(), l); err != nil {
			t.Fatal(err)
		}
		all := files(t, folder.Path)
		file := all["2026-03-02_id-000000007.eml"]
		if len(all) != 1 || file == nil {
			t.Fatalf("%d files", len(all))
		}
		o := open(t, file)
		wantLetter(t, o, l)
		if o.Get("From") != sender.String() || o.Get("To") != "<"+oakley+">" {
			t.Errorf("%v", o.Header)
		}
	}
	l.Address = ""
	if err := folder.Send(t.Context(), l); err != nil {
		t.Fatal(err)
	}
	wantLetter(t, open(t, files(t, folder.Path)["2026-03-02_id-000000007.eml"]), l)
}

// Without a relay every letter goes into the folder, those that nobody gets too.
func TestMailGoesIntoTheFolder(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		n := mailTown(t, s, oakley)
		n.addressed(models.BenchMail, "rowan@wrenlow.example")
		nobody := newTown(t, storetest.Open(t, s.Dialect()), "2026-03-02 09:00")
		nobody.exceed("MB-03")
		for town, want := range map[*town]string{n: "<" + oakley + ">", nobody: ""} {
			folder := jobs.Folder{Path: t.TempDir(), From: sender}
			town.deliver(jobs.NewMail(town.Nursery, folder, sender, "one"), 1, 0)
			all := files(t, folder.Path)
			for _, file := range all {
				if o := open(t, file); o.Get("To") != want || !strings.Contains(o.text, "MB-03") {
					t.Errorf("%v\n%s", o.Header, o.text)
				}
			}
			if letters := town.letters(); len(all) != 1 || letters[0].State != models.LetterSent || letters[0].Trouble != "" {
				t.Errorf("%d files, and the outbox says %+v", len(all), letters)
			}
		}
	})
}

// A folder that cannot be written to keeps its letters waiting, and leaves no half
// of one.
func TestAFolderThatCannotBe(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		n := mailTown(t, s, oakley)
		path := filepath.Join(t.TempDir(), "mail")
		if err := os.WriteFile(path, nil, 0o600); err != nil {
			t.Fatal(err)
		}
		n.deliver(jobs.NewMail(n.Nursery, jobs.Folder{Path: path, From: sender}, sender, "one"), 0, 1)
		if l := n.letters()[0]; l.State != models.LetterWaiting || !strings.Contains(l.Trouble, "make the folder of the mail") {
			t.Errorf("%+v", l)
		}
	})
	folder := jobs.Folder{Path: t.TempDir(), From: sender}
	if err := os.Mkdir(filepath.Join(folder.Path, "2026-03-02_id-000000007.eml"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := folder.Send(t.Context(), someLetter()); err == nil {
		t.Error("a folder took the place of a letter")
	}
	if found, err := os.ReadDir(folder.Path); err != nil || len(found) != 1 {
		t.Errorf("half a letter was left: %v %v", found, err)
	}
}

// Whatever stands in a letter, it comes out as it went in and brings no header of
// its own.
func TestNoHeaderIsInjected(t *testing.T) {
	folder := jobs.Folder{Path: t.TempDir(), From: sender}
	nasty := rapid.SliceOf(rapid.SampledFrom([]string{"Bcc: all@elsewhere.example", "\r\n", "\n", "\r", "=?utf-8?q?x?=", "Wrenlow ", "ä", "\t", "\u2028", "=_id", strings.Repeat("x", 90)}))
	rapid.Check(t, func(rt *rapid.T) {
		l := someLetter()
		l.Subject = "Withybed: " + strings.Join(nasty.Draw(rt, "subject"), "")
		if err := folder.Send(context.Background(), l); err != nil {
			rt.Fatal(err)
		}
		o := open(t, files(t, folder.Path)["2026-03-02_id-000000007.eml"])
		if len(o.Header) != 9 || o.Get("Bcc") != "" || !strings.Contains(o.text, "Bench B2") {
			rt.Fatalf("the headers are %v", o.Header)
		}
	})
}

// What is no address is refused for good, before anything is written or said.
func TestALetterToNoAddress(t *testing.T) {
	r := newRelay(t, false)
	folder := jobs.Folder{Path: filepath.Join(t.TempDir(), "mail"), From: sender}
	for _, address := range []string{"nobody", "a@b\r\nRCPT TO:<c@elsewhere.example>", "a@wrenlow.example, b@wrenlow.example", "<>"} {
		l := someLetter()
		l.Address = address
		for _, post := range []jobs.Post{r.post(t), folder} {
			if err := post.Send(t.Context(), l); !errors.As(err, new(jobs.Refused)) {
				t.Errorf("%q: %v", address, err)
			}
		}
	}
	if _, err := os.Stat(folder.Path); err == nil || len(r.read(t)) > 0 {
		t.Error("a letter to no address went out")
	}
}
