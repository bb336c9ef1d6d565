// Package version names the program that wrote a paper: its number and, where
// the build knows it, the revision of its source.
package version

import (
	"runtime/debug"
	"strings"
)

// Number is the version, the newest heading of CHANGELOG.md.
const Number = "0.2.0"

// String is the program's name, number and revision, the same for every paper
// of one binary: "Retrostage 0.2.0, revision 0123456789ab". A source that was
// changed since that revision is said to be so; a build that knows no revision
// (a test, a build outside version control) names none.
func String() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return of(nil)
	}
	return of(info.Settings)
}

// of reads what the go command stamps on a build (go help buildvcs).
func of(settings []debug.BuildSetting) string {
	var revision, changed string
	for _, s := range settings {
		switch s.Key {
		case "vcs.revision":
			revision = s.Value[:min(12, len(s.Value))]
		case "vcs.modified":
			if s.Value == "true" {
				changed = "changed since"
			}
		}
	}
	words := []string{"Retrostage " + Number}
	if revision != "" {
		words = append(words, "revision "+revision)
		if changed != "" {
			words = append(words, changed)
		}
	}
	return strings.Join(words, ", ")
}
