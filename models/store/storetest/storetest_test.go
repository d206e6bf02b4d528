package storetest_test

import (
	"bytes"
	"context"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"withybed/migrations"
	"withybed/models/store"
	"withybed/models/store/storetest"
)

func TestEachDatabaseIsMigratedAndItsOwn(t *testing.T) {
	storetest.Each(t, func(t *testing.T, s *store.Store) {
		if err := migrations.Check(context.Background(), s.SQL(), s.Dialect()); err != nil {
			t.Error(err)
		}
		if _, err := s.SQL().Exec("CREATE TABLE pots (n INTEGER)"); err != nil {
			t.Fatal(err)
		}
		if _, err := storetest.Open(t, s.Dialect()).SQL().Exec("SELECT n FROM pots"); err == nil {
			t.Error("two databases share a table")
		}
	})
}

func TestADatabaseGoesWithItsTest(t *testing.T) {
	for _, dialect := range storetest.Dialects {
		t.Run(dialect, func(t *testing.T) {
			var url string
			if !t.Run("inner", func(t *testing.T) { url = storetest.New(t, dialect) }) || url == "" {
				t.Skip("there is no server")
			}
			if path, ok := strings.CutPrefix(url, "sqlite:"); ok {
				if _, err := os.Stat(path); !os.IsNotExist(err) {
					t.Errorf("%s is still there (%v)", path, err)
				}
				return
			}
			if s, err := store.Open(context.Background(), url); err == nil {
				_ = s.Close()
				t.Error("the database is still there")
			}
		})
	}
}

// Run by the test below in a process of its own, which is then killed.
func TestStartAndWaitToBeKilled(t *testing.T) {
	if os.Getenv("STORETEST_INNER") == "" {
		t.Skip("only for TestAKilledTestLeavesNothing")
	}
	address, err := url.Parse(storetest.New(t, store.Postgres))
	if err != nil {
		t.Fatal(err)
	}
	fmt.Println("folder", address.Query().Get("host"))
	select {}
}

func TestAKilledTestLeavesNothing(t *testing.T) {
	if os.Getenv("WITHY_TEST_POSTGRES_DSN") != "" {
		t.Skip("the server is not ours")
	}
	storetest.New(t, store.Postgres) // skips where there is none
	inner := exec.Command(os.Args[0], "-test.run=^TestStartAndWaitToBeKilled$", "-test.v")
	inner.Env = append(os.Environ(), "STORETEST_INNER=1")
	out, err := inner.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := inner.Start(); err != nil {
		t.Fatal(err)
	}
	var said bytes.Buffer
	chunk := make([]byte, 4096)
	for !strings.Contains(said.String(), "folder /") || !strings.HasSuffix(said.String(), "\n") {
		n, err := out.Read(chunk)
		said.Write(chunk[:n])
		if err != nil {
			t.Fatalf("the inner test ended: %s", said.String())
		}
	}
	_, dir, _ := strings.Cut(said.String(), "folder ")
	dir = filepath.Clean(strings.TrimSpace(dir))
	if err := inner.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = inner.Wait()
	waited := exec.Command("/bin/sh", "-c", `for i in $(seq 200); do [ -e "$1" ] || exit 0; sleep 0.1; done; exit 1`, "sh", dir)
	if err := waited.Run(); err != nil {
		t.Errorf("%s is still there", dir)
	}
}
