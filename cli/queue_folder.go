package cli

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"

	"github.com/rogpeppe/go-internal/lockedfile"
)

// queue is the folder of the entries that are kept on this computer for one
// server: a folder for each state in it, and in these a file for each entry.
type queue struct{ folder string }

// queuesFolder holds the queues of every server.
func (s *session) queuesFolder() (string, error) {
	data, err := dataFolder(runtime.GOOS, s.env.Vars)
	if err != nil {
		return "", err
	}
	return filepath.Join(data, "withybed", "queue"), nil
}

// queue is the queue of the server that was named.
func (s *session) queue() (queue, error) {
	all, err := s.queuesFolder()
	if err != nil {
		return queue{}, err
	}
	return queueIn(all, addressOf(s.settings.Server)), nil
}

func queueIn(all, server string) queue {
	sum := sha256.Sum256([]byte(server))
	return queue{filepath.Join(all, hex.EncodeToString(sum[:8]))}
}

// queuesFor are the queues of an address: one, or all where it is empty.
func (s *session) queuesFor(address string) ([]queue, error) {
	if address == "" {
		return s.queues()
	}
	all, err := s.queuesFolder()
	return []queue{queueIn(all, address)}, err
}

// queues are those of every address that entries were ever kept for, first that
// of the server that was named.
func (s *session) queues() ([]queue, error) {
	all, err := s.queuesFolder()
	if err != nil {
		return nil, err
	}
	folders, err := os.ReadDir(all)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("look for entries kept on this computer: %w", err)
	}
	var found []queue
	for _, folder := range folders {
		found = append(found, queue{filepath.Join(all, folder.Name())})
	}
	if at := slices.Index(found, queueIn(all, addressOf(s.settings.Server))); at > 0 {
		found[0], found[at] = found[at], found[0]
	}
	return found, nil
}

// there says that this computer has a folder for the server.
func (q queue) there() bool {
	_, err := os.Stat(q.folder)
	return err == nil
}

// locked does something while no other process adds, moves or sends an entry.
func (q queue) locked(do func() error) (err error) {
	for _, state := range queueStates {
		if err := os.MkdirAll(filepath.Join(q.folder, string(state)), 0o700); err != nil {
			return err
		}
	}
	release, err := lockedfile.MutexAt(filepath.Join(q.folder, "lock")).Lock()
	if err != nil {
		return err
	}
	defer release()
	return do()
}

// file is where an entry stands. Names sort in the order of entry.
func (q queue) file(state queueState, id int) string {
	return filepath.Join(q.folder, string(state), fmt.Sprintf("%08d.json", id))
}

// add keeps an entry as the last one that waits. It is there whole, or there is
// an error and nothing of it.
func (q queue) add(e *queued) error {
	return q.locked(func() (err error) {
		if e.ID, err = q.nextID(); err != nil {
			return err
		}
		if err := q.write(waiting, *e); err != nil {
			return errors.Join(err, forgetFile(q.file(waiting, e.ID)))
		}
		return nil
	})
}

// nextID is a number that no entry ever had here. The last one is kept in a file
// of its own, since entries that were sent leave none.
func (q queue) nextID() (int, error) {
	path := filepath.Join(q.folder, "last")
	last := 0
	text, err := os.ReadFile(path)
	if err == nil {
		last, _ = strconv.Atoi(strings.TrimSpace(string(text))) // 0 where it is torn: the files are looked at as well
	} else if !errors.Is(err, fs.ErrNotExist) {
		return 0, err
	}
	for _, state := range queueStates {
		names, err := q.names(state)
		if err != nil {
			return 0, err
		}
		for _, name := range names {
			id, _ := strconv.Atoi(strings.TrimSuffix(name, ".json")) // 0 for a file that is none of ours
			last = max(last, id)
		}
	}
	return last + 1, writeWhole(path, []byte(strconv.Itoa(last+1)+"\n"))
}

// write writes the file of an entry, in the place of the one that was there.
func (q queue) write(state queueState, e queued) error {
	e.State = "" // the folder tells
	text, err := json.MarshalIndent(e, "", "  ")
	if err != nil {
		return err
	}
	return writeWhole(q.file(state, e.ID), append(text, '\n'))
}

// move puts an entry into another state. What is to be said of it is written
// first where it stands, so that at no moment there are two of it, or none.
func (q queue) move(e queued, from, to queueState) error {
	if err := q.write(from, e); err != nil {
		return err
	}
	if err := os.Rename(q.file(from, e.ID), q.file(to, e.ID)); err != nil {
		return err
	}
	return errors.Join(syncFolder(filepath.Join(q.folder, string(to))), syncFolder(filepath.Join(q.folder, string(from))))
}

// sent takes away an entry that its server has.
func (q queue) sent(e queued) error {
	if err := os.Remove(q.file(waiting, e.ID)); err != nil {
		return err
	}
	return syncFolder(filepath.Join(q.folder, string(waiting)))
}

// names are the files of a state, in the order of entry.
func (q queue) names(state queueState) ([]string, error) {
	files, err := os.ReadDir(filepath.Join(q.folder, string(state)))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	var names []string
	for _, file := range files {
		names = append(names, file.Name())
	}
	slices.Sort(names)
	return names, err
}

// unreadable is a file of which no entry can be made. It is left where it is.
type unreadable struct {
	Path string `json:"path"`
	Why  string `json:"why"`
}

// entries are those of a state in the order of entry, and the files that cannot
// be read.
func (q queue) entries(state queueState) (list []queued, bad []unreadable, err error) {
	names, err := q.names(state)
	for _, name := range names {
		path := filepath.Join(q.folder, string(state), name)
		e, err := q.read(path)
		switch {
		case errors.Is(err, fs.ErrNotExist): // sent or moved meanwhile
		case err != nil:
			bad = append(bad, unreadable{path, err.Error()})
		default:
			e.State = state
			list = append(list, e)
		}
	}
	return list, bad, err
}

func (q queue) read(path string) (queued, error) {
	if strings.HasPrefix(filepath.Base(path), unfinished) {
		return queued{}, errors.New("the program was broken off while it wrote it")
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return queued{}, err
	}
	e, err := readQueued(text)
	switch {
	case err != nil:
		return e, err
	case filepath.Base(path) != filepath.Base(q.file(waiting, e.ID)):
		return e, fmt.Errorf("it says that it is entry %d, and has another name", e.ID)
	case queueIn(filepath.Dir(q.folder), e.Server) != q:
		return e, fmt.Errorf("it is an entry for %s, and not among those", e.Server)
	}
	return e, nil
}
