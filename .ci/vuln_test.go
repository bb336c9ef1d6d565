package main

import (
	"strings"
	"testing"
)

func TestJudge(t *testing.T) {
	const head = `{"config":{"go_version":"go1.26.8"}} {"SBOM":{"modules":[{"path":"retrostage"},{"path":"m.org/a","version":"v1.0.0"}]}} `
	finding := func(module, function string) string {
		return `{"finding":{"osv":"GO-1","fixed_version":"v9","trace":[{"module":"` + module + `","version":"v1.0.0","package":"p","function":"` + function + `"}]}} `
	}
	for _, c := range []struct {
		name, stream, err string
	}{
		{"nothing found", head, ""},
		{"standard library", head + finding("stdlib", "F"), ""},
		{"go command", head + finding("toolchain", ""), ""},
		{"a module, called", head + finding("m.org/a", "F"), "1 known vulnerabilities"},
		{"a module, not called", head + finding("stdlib", "F") + finding("m.org/a", ""), "1 known vulnerabilities"},
		{"nothing looked at", `{"config":{"go_version":"go1.26.8"}}`, "nothing was checked"},
		{"nothing said", "", "nothing was checked"},
		{"cut short", head + `{"finding":`, "unexpected EOF"},
	} {
		err := judge(strings.NewReader(c.stream))
		if (err == nil) != (c.err == "") || err != nil && !strings.Contains(err.Error(), c.err) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}
