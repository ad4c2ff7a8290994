package cli

import (
	"io/fs"
	"os"
	"path/filepath"
)

// Disk is the machine's file system as an fs.FS. Unlike os.DirFS it takes any
// path, absolute or with dots, because users name files so.
var Disk fs.FS = disk{}

type disk struct{}

// Open opens the file or folder of that path.
func (disk) Open(name string) (fs.File, error) { return os.Open(filepath.FromSlash(name)) }
