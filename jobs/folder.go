package jobs

import (
	"context"
	"errors"
	"fmt"
	"net/mail"
	"os"
	"path/filepath"
	"time"

	"withybed/models"
)

// Folder is where letters go that no relay takes: a file each, as mail programs
// open them.
type Folder struct {
	Path string // made where it is not there
	From mail.Address
}

// Send writes a letter into a file named by the day it was made and its id. The
// file is there whole or not at all; a letter that is sent again replaces it.
func (f Folder) Send(_ context.Context, l models.Letter) error {
	m, err := compose(l, f.From)
	if err != nil {
		return Refused{err}
	}
	if err := os.MkdirAll(f.Path, 0o700); err != nil {
		return fmt.Errorf("make the folder of the mail: %w", err)
	}
	file, err := os.CreateTemp(f.Path, ".letter-*") // nobody else may read it
	if err != nil {
		return fmt.Errorf("write a letter: %w", err)
	}
	_, err = m.WriteTo(file)
	if err = errors.Join(err, file.Sync(), file.Close()); err == nil {
		err = os.Rename(file.Name(), filepath.Join(f.Path, fileName(l)))
	}
	if err != nil {
		return fmt.Errorf("write a letter: %w", errors.Join(err, os.Remove(file.Name())))
	}
	return f.sync()
}

func fileName(l models.Letter) string {
	return l.MadeAt.UTC().Format(time.DateOnly) + "_" + l.ID + ".eml"
}

// sync sees that the name of a new file outlives a power cut, where the system
// can promise that.
func (f Folder) sync() error {
	folder, err := os.Open(f.Path)
	if err != nil {
		return fmt.Errorf("see to the folder of the mail: %w", err)
	}
	_ = folder.Sync() // not every system can, and the file itself is safe
	return folder.Close()
}
