package store_test

import (
	"os"
	"path/filepath"
	"testing"

	"withybed/models"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

// A file that was deleted under the server would take every record with it.
func TestNothingIsWrittenToAFileThatIsGone(t *testing.T) {
	url := storetest.New(t, store.SQLite)
	s, err := store.Open(background, url)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	path := url[len("sqlite:"):]
	aside := filepath.Join(t.TempDir(), "aside.db")
	if err := os.Rename(path, aside); err != nil {
		t.Fatal(err)
	}
	wantAway := func(what string, err error) {
		t.Helper()
		if e := models.AsError(err); e == nil || e.Kind != models.Unavailable || e.Code != "database-unavailable" {
			t.Errorf("%s says %v", what, err)
		}
	}
	wantAway("a ping", s.Ping(background))
	wantAway("a write", s.Write(background, func(tx *store.Tx) error { return tx.MarkJob("flags", "2026-11-02", noon) }))
	if err := os.WriteFile(path, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	wantAway("a write beside another file", s.Write(background, func(tx *store.Tx) error { return tx.MarkJob("flags", "2026-11-02", noon) }))
	if err := os.Rename(aside, path); err != nil {
		t.Fatal(err)
	}
	if err := s.Write(background, func(tx *store.Tx) error { return tx.MarkJob("flags", "2026-11-02", noon) }); err != nil {
		t.Error("put back it is still away:", err)
	}
}
