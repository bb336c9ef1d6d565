// Command vuln asks for known vulnerabilities of this module, all of what it
// requires and the toolchain. The database is made here, from the reports that
// module golang.org/x/vulndb holds, so that nothing but the module proxy is
// asked.
//
// It prints what it found by who can mend it, and fails unless all of it is in
// the toolchain (the standard library included): a newer one mends that, and
// no change here can.
package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
)

const database = "golang.org/x/vulndb"

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, "vuln:", err)
		os.Exit(1)
	}
}

func run() error {
	tmp, err := os.MkdirTemp("", "vuln")
	if err != nil {
		return err
	}
	defer os.RemoveAll(tmp)
	// Outside this module: the database is no requirement of it.
	out, err := command(tmp, "mod", "download", "-json", database+"@latest")
	if err != nil {
		return err
	}
	var m struct{ Dir, Version string }
	if err := json.Unmarshal(out, &m); err != nil {
		return err
	}
	db := filepath.Join(tmp, "db")
	if _, err := command(tmp, "run", database+"/cmd/indexdb@"+m.Version, "-vulns", filepath.Join(m.Dir, "data", "osv"), "-out", db); err != nil {
		return err
	}
	fmt.Println("database:", m.Version)
	out, err = command("", "tool", "govulncheck", "-format", "json", "-db", "file://"+db, "./...")
	if err != nil {
		return err
	}
	return judge(bytes.NewReader(out))
}

// command runs the go command in dir and returns what it prints.
func command(dir string, args ...string) ([]byte, error) {
	cmd := exec.Command("go", args...)
	cmd.Dir, cmd.Stderr = dir, os.Stderr
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("go %v: %w", args, err)
	}
	return out, nil
}

// message is the part read here of one message of govulncheck's stream.
type message struct {
	Config *struct {
		GoVersion string `json:"go_version"`
	}
	SBOM *struct {
		Modules []struct{ Path, Version string }
	} `json:"SBOM"`
	OSV *struct {
		ID      string
		Summary string
	} `json:"osv"`
	Finding *struct {
		OSV   string `json:"osv"`
		Fixed string `json:"fixed_version"`
		Trace []struct{ Module, Version, Package, Function string }
	}
}

// found is one vulnerability in one module; how near it is, by level.
type found struct {
	osv, module, version, fixed string
	level                       int // 0 required, 1 imported, 2 called
}

var levels = [...]string{"required", "imported", "called"}

func judge(r io.Reader) error {
	var config, modules bool
	what := map[string]string{}
	all := map[string]*found{}
	for d := json.NewDecoder(r); ; {
		var m message
		err := d.Decode(&m)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		switch {
		case m.Config != nil:
			config = true
			fmt.Println("toolchain:", m.Config.GoVersion)
		case m.SBOM != nil:
			modules = len(m.SBOM.Modules) > 1
			fmt.Printf("looked at: %d modules\n", len(m.SBOM.Modules))
		case m.OSV != nil:
			what[m.OSV.ID] = m.OSV.Summary
		case m.Finding != nil && len(m.Finding.Trace) > 0:
			at := m.Finding.Trace[0]
			f := &found{m.Finding.OSV, at.Module, at.Version, m.Finding.Fixed, 0}
			switch {
			case at.Function != "":
				f.level = 2
			case at.Package != "":
				f.level = 1
			}
			key := f.osv + " " + f.module
			if old := all[key]; old == nil || old.level < f.level {
				all[key] = f
			}
		}
	}
	if !config || !modules {
		return errors.New("govulncheck did not say what it looked at: nothing was checked")
	}
	ours, theirs := split(all)
	list := func(title string, fs []*found) {
		fmt.Printf("%s: %d\n", title, len(fs))
		for _, f := range fs {
			fixed := f.fixed
			if fixed == "" {
				fixed = "no version yet"
			}
			fmt.Printf("  %s %s %s, %s, fixed in %s: %s\n", f.osv, f.module, f.version, levels[f.level], fixed, what[f.osv])
		}
	}
	list("only a newer toolchain mends", theirs)
	list("to be mended here", ours)
	if len(ours) > 0 {
		return fmt.Errorf("%d known vulnerabilities to be mended here", len(ours))
	}
	return nil
}

// split parts what the toolchain brings from what this module requires.
func split(all map[string]*found) (ours, theirs []*found) {
	var keys []string
	for k := range all {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	for _, k := range keys {
		if f := all[k]; f.module == "stdlib" || f.module == "toolchain" {
			theirs = append(theirs, f)
		} else {
			ours = append(ours, f)
		}
	}
	return ours, theirs
}
