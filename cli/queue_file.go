package cli

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"syscall"
)

// unfinished begins the name of a file that is being written.
const unfinished = ".unfinished-"

// writeWhole writes a file so that after a power cut there is the new one whole
// or what was there before. Nobody else on this computer can read it.
func writeWhole(path string, text []byte) error {
	f, err := os.CreateTemp(filepath.Dir(path), unfinished+"*")
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return errors.Join(err, forgetFile(f.Name()))
	}
	return syncFolder(filepath.Dir(path))
}

// forgetFile takes a file away, if there is one.
func forgetFile(path string) error {
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// syncFolder sees to it that the names in a folder are on the disk. Windows and
// some file systems have no such thing, and keep names by themselves.
func syncFolder(path string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	folder, err := os.Open(path)
	if err != nil {
		return err
	}
	err = folder.Sync()
	if errors.Is(err, syscall.EINVAL) || errors.Is(err, syscall.ENOTSUP) {
		err = nil
	}
	return errors.Join(err, folder.Close())
}
