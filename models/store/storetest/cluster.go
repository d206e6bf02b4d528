//go:build unix

package storetest

import (
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// supervise runs in a shell of its own: it starts the server, waits until its
// standard input ends, then stops the server at once and removes the folder. The
// input ends when the test process does, in whatever way, so nothing is left
// behind, no test needs a TestMain and no signal has to be caught.
const supervise = `
"$1/postgres" -D "$2/data" -c listen_addresses= -c unix_socket_directories="$2" \
	-c fsync=off -c full_page_writes=off -c synchronous_commit=off \
	-c max_connections=200 -c shared_buffers=64MB -c timezone="$3" >"$2/log" 2>&1 &
server=$!
cat >/dev/null
kill -QUIT $server
wait $server
cd / && rm -rf "$2"
`

// startCluster makes a cluster in a temporary folder with a short name (the path of a
// socket has at most 107 bytes), starts it, and gives the URL of its server.
func startCluster() (dsn string, err error) {
	bin, err := findPrograms()
	if err != nil {
		return "", err
	}
	dir, err := os.MkdirTemp(tempDir(), "withy")
	if err != nil {
		return "", err
	}
	c := cluster{bin: bin, dir: dir}
	if err := c.start(); err != nil {
		_ = os.RemoveAll(dir)
		return "", err
	}
	query := url.Values{"host": {dir}, "user": {"withy"}}
	return "postgres:///postgres?" + query.Encode(), nil
}

// findPrograms gives the folder of initdb and postgres.
func findPrograms() (string, error) {
	if path, err := exec.LookPath("initdb"); err == nil {
		// The link may stand in a folder that has only some of the programs.
		if real, err := filepath.EvalSymlinks(path); err == nil {
			return filepath.Dir(real), nil
		}
	}
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
	if len(found) == 0 {
		return "", errors.New("no initdb on PATH or under /usr/lib/postgresql: install PostgreSQL 15 or later")
	}
	return filepath.Dir(found[len(found)-1]), nil
}

// tempDir is a folder in memory, where databases are copied ten times faster,
// if there is one with a gigabyte to spare; else the temporary folder, unless its
// path is too long.
func tempDir() string {
	const memory, spare = "/dev/shm", 1 << 20 // in KiB
	out, err := exec.Command("df", "-Pk", memory).Output()
	if fields := strings.Fields(string(out)); err == nil && len(fields) > 5 {
		if free, err := strconv.Atoi(fields[len(fields)-3]); err == nil && free > spare {
			return memory
		}
	}
	if dir := os.TempDir(); len(dir) < 60 {
		return dir
	}
	return "/tmp"
}

// lifeline is the input of the shell. It is kept here, and never closed, so that
// it ends only with this process.
var lifeline io.WriteCloser //nolint:unused // held, so that it is not closed before its time

type cluster struct{ bin, dir string }

func (c cluster) start() error {
	owner, err := owner()
	if err != nil {
		return err
	}
	if owner != nil {
		if err := os.Chown(c.dir, int(owner.Uid), int(owner.Gid)); err != nil {
			return err
		}
	}
	initdb := c.command(owner, filepath.Join(c.bin, "initdb"), "-D", filepath.Join(c.dir, "data"),
		"-U", "withy", "-A", "trust", "-N", "--locale=C", "-E", "UTF8", "--wal-segsize=4")
	if out, err := initdb.CombinedOutput(); err != nil {
		return fmt.Errorf("initdb: %w: %s", err, out)
	}
	shell := c.command(owner, "/bin/sh", "-c", supervise, "sh", c.bin, c.dir, timeZone)
	// A group of its own, so that an interrupt at the keyboard does not end the
	// shell before it has cleaned up.
	shell.SysProcAttr.Setpgid = true
	if lifeline, err = shell.StdinPipe(); err != nil {
		return err
	}
	if err := shell.Start(); err != nil {
		return err
	}
	return c.await()
}

// await asks pg_isready until the server answers, for half a minute at most.
func (c cluster) await() error {
	ready := exec.Command("/bin/sh", "-c",
		`for i in $(seq 300); do "$1/pg_isready" -q -h "$2" -U withy && exit 0; sleep 0.1; done; cat "$2/log"; exit 1`,
		"sh", c.bin, c.dir)
	if out, err := ready.CombinedOutput(); err != nil {
		return fmt.Errorf("the server does not start: %w: %s", err, out)
	}
	return nil
}

func (c cluster) command(owner *syscall.Credential, name string, args ...string) *exec.Cmd {
	cmd := exec.Command(name, args...)
	cmd.Dir = c.dir
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: owner}
	return cmd
}

// owner is who runs the server: postgres or nobody where the tests run as root,
// which PostgreSQL refuses; otherwise nil, the one who runs the tests.
func owner() (*syscall.Credential, error) {
	if os.Geteuid() != 0 {
		return nil, nil
	}
	for _, name := range []string{"postgres", "nobody"} {
		u, err := user.Lookup(name)
		if err != nil {
			continue
		}
		uid, uidErr := strconv.ParseUint(u.Uid, 10, 32)
		gid, gidErr := strconv.ParseUint(u.Gid, 10, 32)
		return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}, errors.Join(uidErr, gidErr)
	}
	return nil, errors.New("root cannot run PostgreSQL, and there is neither a user postgres nor nobody")
}
