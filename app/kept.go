package app

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"fyne.io/fyne/v2"

	"retrostage/app/widget"
	"retrostage/reports/archive"
)

// settings is what is set once for every job, by name. The toolkit's own would do, but that
// it writes its file over in place: a process that ends meanwhile leaves half of it.
type settings interface {
	String(key string) string
	Bool(key string) bool
	BoolWithFallback(key string, fallback bool) bool
	FloatWithFallback(key string, fallback float64) float64
	SetString(key, value string)
	SetBool(key string, value bool)
	SetFloat(key string, value float64)
}

// settingNames are those that are kept; a program of before had the toolkit keep them.
var settingNames = struct{ strings, bools, floats []string }{
	[]string{"person", "shared", "counterkey", "units", "columns", "lists", "own"},
	[]string{"exchange by hand", "dark", "keypad"},
	[]string{"width", "height"},
}

// mostSettings is how large their file can be; no sitting leaves more.
const mostSettings = 4 << 20

// settingsFile is settings in a file of ours: written beside the toolkit's thread to a
// temporary file in the same folder, synced, renamed.
type settingsFile struct {
	path    string
	told    func(err error) // what became of a writing, on the toolkit's thread
	writing widget.Line
	replace func(path string, write func(io.Writer) error) error

	mu     sync.Mutex
	values map[string]any  // string, bool or float64
	taken  map[string]any  // for what is not there
	mine   map[string]bool // what was set here: only that goes over what another window wrote
	shut   error           // why nothing may be written
}

// openSettings reads them. A file that is damaged is set aside, and said is what to tell;
// older are those of a program before, taken where there is no file yet.
func openSettings(path string, older settings) (s *settingsFile, said string) {
	s = &settingsFile{path: path, values: map[string]any{}, taken: map[string]any{}, mine: map[string]bool{}, replace: archive.Replace, told: func(error) {}}
	sweep(filepath.Dir(path))
	b, err := archive.Read(path, mostSettings)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if older != nil {
			s.takeOver(older)
		}
		return s, ""
	case errors.Is(err, fs.ErrPermission): // whole, for all one knows: to be left alone
		s.shut = err
		return s, "The settings cannot be read, and are left as they are: " + err.Error()
	case err == nil:
		s.values, err = settingsOf(b)
	}
	if err == nil {
		return s, ""
	}
	s.values = map[string]any{}
	aside, moved := setAside(path)
	if moved != nil { // not to be written over
		s.shut = moved
		return s, fmt.Sprintf("The settings are damaged (%v) and could not be set aside (%v): none are kept.", err, moved)
	}
	return s, fmt.Sprintf("The settings were damaged (%v). They lie in %s now; set them anew.", err, aside)
}

// sweep takes away what a process that was killed as it wrote left in a folder of ours; what
// another one is writing just now is younger.
func sweep(dir string) {
	left, _ := filepath.Glob(filepath.Join(dir, ".writing-*"))
	for _, f := range left {
		if i, err := os.Lstat(f); err == nil && time.Since(i.ModTime()) > time.Minute {
			os.Remove(f)
		}
	}
}

// settingsOf reads the text of a file: one object of words, figures, yes and no.
func settingsOf(b []byte) (map[string]any, error) {
	var raw map[string]any
	if err := json.Unmarshal(b, &raw); err != nil {
		return nil, err
	}
	if raw == nil {
		return nil, errors.New("no settings in it")
	}
	for k, v := range raw {
		switch v.(type) {
		case string, bool, float64:
		default:
			return nil, fmt.Errorf("%q is neither words, a figure, yes nor no", k)
		}
	}
	if o, ok := raw["own"].(string); ok && o != "" {
		if err := json.Unmarshal([]byte(o), new(own)); err != nil {
			return nil, fmt.Errorf("what was set once for every job: %w", err)
		}
	}
	return raw, nil
}

// setAside gives a file another name, which none has yet.
func setAside(path string) (to string, err error) {
	for n := 1; n < 1000; n++ {
		to = fmt.Sprintf("%s.damaged-%d", path, n)
		if _, err := os.Lstat(to); errors.Is(err, fs.ErrNotExist) {
			return to, os.Rename(path, to)
		}
	}
	return "", errors.New("a thousand damaged ones lie there")
}

func (s *settingsFile) takeOver(older settings) {
	for _, k := range settingNames.strings {
		if v := older.String(k); v != "" {
			s.set(k, v)
		}
	}
	for _, k := range settingNames.bools {
		if yes := older.BoolWithFallback(k, true); yes == older.BoolWithFallback(k, false) { // it was set
			s.set(k, yes)
		}
	}
	for _, k := range settingNames.floats {
		if v := older.FloatWithFallback(k, 0); v > 0 {
			s.set(k, v)
		}
	}
}

func settingAs[T any](s *settingsFile, key string, fallback T) T {
	s.mu.Lock()
	defer s.mu.Unlock()
	if v, ok := s.values[key].(T); ok {
		return v
	}
	s.taken[key] = fallback
	return fallback
}

func (s *settingsFile) String(key string) string { return settingAs(s, key, "") }
func (s *settingsFile) Bool(key string) bool     { return settingAs(s, key, false) }
func (s *settingsFile) BoolWithFallback(key string, fallback bool) bool {
	return settingAs(s, key, fallback)
}
func (s *settingsFile) FloatWithFallback(key string, fallback float64) float64 {
	return settingAs(s, key, fallback)
}

func (s *settingsFile) set(key string, value any) {
	s.mu.Lock()
	defer s.mu.Unlock()
	was, ok := s.values[key]
	if !ok {
		was, ok = s.taken[key]
	}
	if !ok && value == "" {
		return
	}
	if !ok || was != value {
		s.values[key], s.mine[key] = value, true
	}
}

func (s *settingsFile) SetString(key, value string)        { s.set(key, value) }
func (s *settingsFile) SetBool(key string, value bool)     { s.set(key, value) }
func (s *settingsFile) SetFloat(key string, value float64) { s.set(key, value) }

// write puts them on disk.
func (s *settingsFile) write() error {
	s.mu.Lock()
	all, shut := maps.Clone(s.values), s.shut
	mine := maps.Clone(s.mine)
	s.mu.Unlock()
	if shut != nil {
		return shut
	}
	there, err := archive.Read(s.path, mostSettings)
	if err == nil {
		var others map[string]any
		if others, err = settingsOf(there); err == nil {
			for k, v := range others {
				if !mine[k] {
					all[k] = v
				}
			}
		}
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) { // damaged since it was read
		if _, moved := setAside(s.path); moved != nil {
			return moved
		}
	}
	b, err := json.MarshalIndent(all, "", "  ")
	switch {
	case err != nil:
		return err
	case len(b) > mostSettings: // could not be read again
		return fmt.Errorf("%d bytes of settings, at most %d are kept", len(b), mostSettings)
	}
	if err := os.MkdirAll(filepath.Dir(s.path), 0o700); err != nil {
		return err
	}
	return s.replace(s.path, func(w io.Writer) error { _, err := w.Write(append(b, '\n')); return err })
}

// Keep writes what was set, beside the toolkit's thread.
func (s *settingsFile) Keep() {
	s.writing.Ask(func() func() {
		err := s.write()
		return func() { s.told(err) }
	})
}

// settingsPath is where they are kept: with the user of the machine.
func settingsPath() (string, error) {
	dir, err := os.UserConfigDir()
	if err != nil {
		return "", err
	}
	return filepath.Join(dir, "retrostage", "settings.json"), nil
}

// mendToolkit sets the toolkit's own file aside where it is not what the toolkit expects, for
// at some it breaks down; said is what to tell.
func mendToolkit() (said string) {
	dir, err := os.UserConfigDir()
	if err != nil {
		return ""
	}
	path := filepath.Join(dir, "fyne", id, "preferences.json")
	b, err := archive.Read(path, mostSettings)
	if errors.Is(err, fs.ErrNotExist) || errors.Is(err, fs.ErrPermission) {
		return ""
	}
	if err == nil && len(b) > 0 { // the toolkit takes an empty one for none
		_, err = settingsOf(b)
	}
	if err == nil {
		return ""
	}
	aside, moved := setAside(path)
	if moved != nil {
		return fmt.Sprintf("The settings of an earlier version are damaged (%v) and could not be set aside (%v).", err, moved)
	}
	return fmt.Sprintf("The settings of an earlier version were damaged (%v). They lie in %s now.", err, aside)
}

// notKept begins what is told of settings that could not be written.
const notKept = "Settings not kept: "

// tellSettings says whether settings were written; what else is told stays.
func (b *Bench) tellSettings(err error) {
	switch {
	case err != nil:
		b.trouble.Say("settings not kept: " + err.Error())
		if b.note == "" || strings.HasPrefix(b.note, notKept) {
			b.note = notKept + err.Error()
		}
	case strings.HasPrefix(b.note, notKept):
		b.note = ""
	default:
		return
	}
	b.window.paintBar()
}

var _ settings = fyne.Preferences(nil)
