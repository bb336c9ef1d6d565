package archive

import (
	"os"
	"path/filepath"
)

// marker is the name of the file or folder that makes a copy of the program
// portable: jobs are kept beside it, on the stick that carries both.
const marker = "portable"

// portable is the folder of jobs of a program at exe that has the marker beside
// it: the marker itself where it is a folder, else the folder jobs.
func portable(exe string) (string, bool) {
	beside := filepath.Dir(exe)
	at := filepath.Join(beside, marker)
	info, err := os.Stat(at)
	switch {
	case err != nil:
		return "", false
	case info.IsDir():
		return at, true
	}
	return filepath.Join(beside, "jobs"), true
}
