package gate

import (
	"io/fs"
	"os"
	"path/filepath"
)

// Reserve makes an empty file at a path for whoever asks first; where there is one already
// the error is fs.ErrExist. Its folder must be there.
func Reserve(path string, mode fs.FileMode) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		return err
	}
	return f.Close()
}

// Replace puts data in the place of a file at once: whatever goes wrong, the
// file is as it was or as it should be. It keeps the file's mode; a new one gets
// the mode given.
func Replace(path string, data []byte, mode fs.FileMode) (err error) {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real
	}
	if info, err := os.Stat(path); err == nil {
		mode = info.Mode().Perm()
	}
	folder := filepath.Dir(path)
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return err
	}
	part, err := os.CreateTemp(folder, "."+filepath.Base(path)+"-*.part")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			part.Close()
			os.Remove(part.Name())
		}
	}()
	if _, err = part.Write(data); err != nil {
		return err
	}
	if err = part.Chmod(mode); err != nil {
		return err
	}
	if err = part.Sync(); err != nil {
		return err
	}
	if err = part.Close(); err != nil {
		return err
	}
	if err = os.Rename(part.Name(), path); err != nil {
		return err
	}
	// The name is kept once its folder is; not every system can sync a folder.
	if d, e := os.Open(folder); e == nil {
		_ = d.Sync()
		d.Close()
	}
	return nil
}
