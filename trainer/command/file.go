package command

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"syscall"

	"github.com/spf13/cobra"

	"footfall/trainer/gate"
	"footfall/trainer/guard"
)

// fileError says in words why a file cannot be used, or what is wrong in it.
type fileError struct {
	file, says string
	error
}

// inFile says what is wrong in a file argument's content.
func inFile(name string, err error) error {
	return fileError{name, fmt.Sprintf("%s: %v", source(name), err), err}
}

// Error says it.
func (e fileError) Error() string { return e.says }

func (e fileError) Unwrap() error { return e.error }

// unread says why a file cannot be read, and what would do. It is bad input.
func unread(name string, err error) error {
	says := fmt.Sprintf("%s cannot be read: %v", name, cause(err))
	refused := new(gate.Refused)
	switch {
	case gate.Folder(err):
		return isFolder(name)
	case errors.As(err, &refused):
		says = err.Error() + "; name a file"
		if refused.Long {
			says = err.Error() + "; name a smaller file"
		}
	case errors.Is(err, guard.ErrSilent):
		says = err.Error() + "; look after its disk"
	case name == "":
		says = "the name of the file is empty; name a file"
	case errors.Is(err, fs.ErrNotExist):
		says = fmt.Sprintf("there is no file %s; name one that is there, or - for standard input", name)
	case errors.Is(err, fs.ErrPermission):
		says = fmt.Sprintf("you may not read %s; change its permissions, or name another file", name)
	}
	return badInput(fileError{name, says, err})
}

// unwritten says why a file cannot be made, and what would do. A folder that is
// not there or must not be written into is bad input.
func unwritten(name string, err error) error {
	folder := filepath.Dir(name)
	says := ""
	switch {
	case name == "":
		says = "the name of the file is empty; name a file"
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENOTDIR):
		says = fmt.Sprintf("there is no folder %s; make it first, or name another", folder)
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		says = fmt.Sprintf("you may not write into the folder %s; name another", folder)
	default:
		return fileError{name, fmt.Sprintf("%s cannot be written: %v", name, cause(err)), err}
	}
	return badInput(fileError{name, says, err})
}

// cause is an error of the system without the call and the path.
func cause(err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err
	}
	return err
}

// isFolder says that a folder was named where a file is wanted.
func isFolder(name string) error {
	return badInput(fileError{name, name + " is a folder; name a file", fs.ErrInvalid})
}

// openInput opens a file argument; - is standard input. What cannot be opened is
// bad input.
func openInput(cmd *cobra.Command, name string) (*gate.File, error) {
	if name == "-" {
		return gate.From(source(name), cmd.InOrStdin()), nil
	}
	f, err := gate.OpenAsked(name)
	if err != nil {
		return nil, unread(name, err)
	}
	return f, nil
}

// readInput reads a file argument whole; - is standard input. A file that cannot
// be read or is longer than most bytes is bad input.
func readInput(cmd *cobra.Command, name string, most int64) ([]byte, error) {
	in, err := openInput(cmd, name)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	data, err := in.All(most)
	if err != nil {
		return nil, unread(source(name), err)
	}
	return data, nil
}

// source names where a file argument's content comes from.
func source(name string) string {
	if name == "-" {
		return "standard input"
	}
	return name
}
