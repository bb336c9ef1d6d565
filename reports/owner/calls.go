package owner

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"unicode"

	"retrostage/reports/archive"
)

// callsFile is kept in the folder of the jobs, for window and verbs alike.
const callsFile = "owner-calls.txt"

// longestCall is how many letters fit the page's line.
const longestCall = 200

// Calls is whom the owner calls as the tablet's setting has it, "" where none was made.
// dir is the folder where jobs are kept. A file that is no such line is an error.
func Calls(dir string) (string, error) {
	path := filepath.Join(dir, callsFile)
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, 4*longestCall+2))
	if err != nil {
		return "", err
	}
	s := strings.TrimSpace(string(b))
	if err := callable(s); err != nil {
		return "", fmt.Errorf("%s: %w", path, err)
	}
	return s, nil
}

// SetCalls keeps it; "" takes it back.
func SetCalls(dir, call string) error {
	call = strings.TrimSpace(call)
	if err := callable(call); err != nil {
		return err
	}
	path := filepath.Join(dir, callsFile)
	if call == "" {
		if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		return nil
	}
	return archive.Replace(path, func(w io.Writer) error {
		_, err := io.WriteString(w, call+"\n")
		return err
	})
}

// callable is why a text is no line for the page.
func callable(s string) error {
	if n := len([]rune(s)); n > longestCall {
		return fmt.Errorf("whom the owner calls: %d letters; allowed %d", n, longestCall)
	}
	for _, r := range s {
		if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || r == unicode.ReplacementChar {
			return fmt.Errorf("whom the owner calls: one line of letters that can be seen, not %q", r)
		}
	}
	return nil
}
