package app

import (
	"errors"
	"fmt"
	"io"
	"math/rand"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2/test"

	"retrostage/assets/soak"
	"retrostage/reports/record"
)

func opened(t *testing.T, path string) *settingsFile {
	t.Helper()
	s, said := openSettings(path, nil)
	if said != "" {
		t.Fatal(said)
	}
	return s
}

// A process that is killed as it writes the settings leaves those of before or the new ones,
// whole; a toolkit's file written over in place would be cut short.
func TestSettingsOutliveAKill(t *testing.T) {
	const env = "RETROSTAGE_SETTINGS_CHILD"
	if path := os.Getenv(env); path != "" {
		s, said := openSettings(path, nil)
		if said != "" {
			fmt.Println("damaged:", said)
			os.Exit(1)
		}
		for n := 0; ; n++ {
			s.SetString("person", fmt.Sprintf("T-%d", n))
			s.SetString("columns", fmt.Sprintf(`{"n":%d,"pad":%q}`, n, strings.Repeat("x", 200_000)))
			if err := s.write(); err != nil {
				fmt.Println(err)
				os.Exit(1)
			}
			fmt.Println(n)
		}
	}
	if testing.Short() {
		t.Skip("short: processes are started and killed")
	}
	path := filepath.Join(t.TempDir(), "settings.json")
	rnd := rand.New(rand.NewSource(7))
	kills := soak.Count(12, 200)
	for k := range kills {
		c := exec.Command(os.Args[0], "-test.run", "^TestSettingsOutliveAKill$")
		c.Env = append(os.Environ(), env+"="+path)
		out, err := c.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		first := make([]byte, 1)
		if _, err := io.ReadFull(out, first); err != nil { // it writes now
			t.Fatal(err)
		}
		time.Sleep(time.Duration(rnd.Intn(30_000)) * time.Microsecond)
		c.Process.Kill()
		rest, _ := io.ReadAll(out)
		c.Wait()
		lines := strings.Fields(string(first) + string(rest))
		last := lines[len(lines)-1]
		if strings.Contains(string(first)+string(rest), "damaged") {
			t.Fatalf("kill %d: %s", k, rest)
		}
		var n, kept int
		s := opened(t, path)
		fmt.Sscan(last, &n) // what is printed may be cut short, and then says less
		fmt.Sscanf(s.String("person"), "T-%d", &kept)
		if kept < n {
			t.Fatalf("kill %d: %d was written and acknowledged, %d is there", k, n, kept)
		}
		if want := fmt.Sprintf(`{"n":%d,"pad":`, kept); !strings.HasPrefix(s.String("columns"), want) {
			t.Fatalf("kill %d: of two writings: %d, %.20s", k, kept, s.String("columns"))
		}
	}
	left, _ := filepath.Glob(filepath.Join(filepath.Dir(path), ".writing-*"))
	long := time.Now().Add(-time.Hour)
	for _, f := range left {
		os.Chtimes(f, long, long)
	}
	opened(t, path)
	after, _ := os.ReadDir(filepath.Dir(path))
	if len(after) != 1 {
		t.Errorf("%d files are left, one is wanted", len(after))
	}
	t.Logf("%d kills, %d leftovers taken away at the next start", kills, len(left))
}

// A writing that fails half way is told, leaves what stood there, and is made up for by the
// next that does not fail.
func TestSettingsFailingWrite(t *testing.T) {
	b, w := bench(t, record.New("j"))
	path := filepath.Join(t.TempDir(), "of mine", "settings.json")
	s := opened(t, path)
	s.writing.Now = true
	closed := make(chan struct{})
	b.furnish(w, s, false, Opts{}, closed)
	close(closed)
	b.SetPerson("T-1")
	if got := opened(t, path).String("person"); got != "T-1" {
		t.Fatalf("kept %q", got)
	}
	whole := s.replace
	s.replace = func(p string, write func(io.Writer) error) error {
		return whole(p, func(w io.Writer) error {
			write(&halfWriter{w: w, most: 20})
			return errors.New("no space left on the device")
		})
	}
	b.SetPerson("T-2")
	if text, bad := b.kept(); !bad || !strings.Contains(text, "Settings not kept") || !strings.Contains(text, "no space") {
		t.Errorf("it says %q", text)
	}
	if got := opened(t, path).String("person"); got != "T-1" {
		t.Errorf("after a writing that failed %q is kept", got)
	}
	if files, _ := os.ReadDir(filepath.Dir(path)); len(files) != 1 {
		t.Errorf("%d files", len(files))
	}
	s.replace = whole
	b.SetDark(true)
	if text, _ := b.kept(); strings.Contains(text, "not kept") {
		t.Errorf("it still says %q", text)
	}
	if got := opened(t, path); got.String("person") != "T-2" || !got.Bool("dark") {
		t.Errorf("kept %q", got.String("person"))
	}
	b.SetDark(false)
	if i, err := os.Stat(path); err != nil || i.Mode().Perm()&0o027 != 0 {
		t.Errorf("%v %v", i.Mode(), err)
	}
	if i, err := os.Stat(filepath.Dir(path)); err != nil || i.Mode().Perm() != 0o700 {
		t.Errorf("%v %v", i.Mode(), err)
	}
}

type halfWriter struct {
	w    io.Writer
	most int
}

func (h *halfWriter) Write(b []byte) (int, error) {
	n, _ := h.w.Write(b[:min(len(b), h.most)])
	return n, io.ErrShortWrite
}

// A damaged file is set aside untouched and told, once; what is set afterwards is kept.
func TestDamagedSettingsAreSetAside(t *testing.T) {
	for name, text := range map[string]string{
		"cut short": `{"person":"T-1","own":"{\"beg`, "empty": "", "zeroes": strings.Repeat("\x00", 300), "no object": `[1,2]`, "null": "null",
		"an object within": `{"person":{"a":1}}`, "a list": `{"person":["a",1]}`, "own is rubbish": `{"person":"T-1","own":"{"}`,
		"two objects": `{"person":"T-1"}{"person":"T-2"}`, "too large": `{"person":"` + strings.Repeat("x", mostSettings) + `"}`,
	} {
		path := filepath.Join(t.TempDir(), "settings.json")
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		s, said := openSettings(path, nil)
		if !strings.Contains(said, "damaged") || !strings.Contains(said, path+".damaged-1") || s.String("person") != "" {
			t.Errorf("%s: %q, person %q", name, said, s.String("person"))
		}
		if b, err := os.ReadFile(path + ".damaged-1"); err != nil || string(b) != text {
			t.Errorf("%s: set aside as %d bytes, %v", name, len(b), err)
		}
		s.SetString("person", "T-9")
		if err := s.write(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if opened(t, path).String("person") != "T-9" {
			t.Errorf("%s: not kept afterwards", name)
		}
	}
	// A second one does not go over the first; where it cannot be moved, nothing is written.
	path := filepath.Join(t.TempDir(), "settings.json")
	os.WriteFile(path+".damaged-1", []byte("first"), 0o600)
	os.WriteFile(path, []byte("{"), 0o600)
	openSettings(path, nil)
	if b, _ := os.ReadFile(path + ".damaged-1"); string(b) != "first" {
		t.Error("the first that was set aside is gone")
	}
	if err := os.Mkdir(path, 0o700); err != nil { // a folder in its place
		t.Fatal(err)
	}
	if _, said := openSettings(path, nil); !strings.Contains(said, "damaged") {
		t.Errorf("of a folder in its place it says %q", said)
	}
}

// What the toolkit kept for an earlier version is taken over once, and its file is not
// written any more; one at which the toolkit would break down is set aside before it reads it.
func TestSettingsOfTheToolkit(t *testing.T) {
	pref := test.NewTempApp(t).Preferences()
	pref.SetString("person", "T-4")
	pref.SetBool("keypad", false)
	pref.SetFloat("width", 900)
	path := filepath.Join(t.TempDir(), "settings.json")
	s, said := openSettings(path, pref)
	if said != "" || s.String("person") != "T-4" || s.BoolWithFallback("keypad", true) || !s.BoolWithFallback("dark", true) || s.FloatWithFallback("width", 1) != 900 {
		t.Errorf("taken over: %v, %q", s.values, said)
	}
	s.SetString("person", "T-5")
	if err := s.write(); err != nil {
		t.Fatal(err)
	}
	if s, _ := openSettings(path, pref); s.String("person") != "T-5" || pref.String("person") != "T-4" {
		t.Error("the newer do not stand")
	}
	dir := t.TempDir()
	t.Setenv("XDG_CONFIG_HOME", dir)
	t.Setenv("HOME", dir)
	if said := mendToolkit(); said != "" {
		t.Errorf("of none it says %q", said)
	}
	old := filepath.Join(dir, "fyne", id, "preferences.json")
	if err := os.MkdirAll(filepath.Dir(old), 0o700); err != nil {
		t.Fatal(err)
	}
	for i, text := range []string{`{"person":"T-1"}`, "", `{"a":[true,"x"]}`, `{"person":"T-`} {
		os.WriteFile(old, []byte(text), 0o600)
		if said := mendToolkit(); (said != "") != (i > 1) {
			t.Errorf("%s: %q", text, said)
		}
	}
	os.Remove(old)
	if set, _ := filepath.Glob(old + ".damaged-*"); len(set) != 2 {
		t.Errorf("set aside: %v", set)
	}
}

// FuzzSettings: whatever the file holds, it is read, or set aside and told.
func FuzzSettings(f *testing.F) {
	f.Add(`{"person":"T-1","dark":true,"width":900,"own":"{}"}`)
	f.Add(`{"person":`)
	f.Add(strings.Repeat("[", 4000))
	f.Fuzz(func(t *testing.T, text string) {
		path := filepath.Join(t.TempDir(), "settings.json")
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		s, said := openSettings(path, nil)
		recall(s)
		if _, err := settingsOf([]byte(text)); (err != nil) != (said != "") {
			t.Fatalf("%v, told %q", err, said)
		}
		if b, err := os.ReadFile(path + ".damaged-1"); said != "" && (err != nil || string(b) != text) {
			t.Fatalf("set aside: %q %v", b, err)
		}
		if err := s.write(); err != nil {
			t.Fatal(err)
		}
		opened(t, path)
	})
}

// Ten megabytes of anything in place of the settings are let go in a second of the processor
// and 200 MB.
func TestTenMegabytesOfSettings(t *testing.T) {
	for name, b := range soak.Hostile(`{"person":"T-1",`, `"k":"v",`) {
		path := filepath.Join(t.TempDir(), "settings.json")
		if err := os.WriteFile(path, b, 0o600); err != nil {
			t.Fatal(err)
		}
		soak.Bounded(t, "settings of "+name, func() { openSettings(path, nil) })
		soak.Bounded(t, "settings within the bound of "+name, func() { settingsOf(b[:min(len(b), mostSettings)]) })
	}
}
