package version

import (
	"os"
	"regexp"
	"runtime/debug"
	"testing"
)

func TestRevision(t *testing.T) {
	const hash = "0123456789abcdef0123456789abcdef01234567"
	rev := debug.BuildSetting{Key: "vcs.revision", Value: hash}
	for want, s := range map[string][]debug.BuildSetting{
		"Retrostage " + Number:                                            {{Key: "vcs.modified", Value: "true"}},
		"Retrostage " + Number + ", revision 0123456789ab":                {rev, {Key: "vcs.modified", Value: "false"}},
		"Retrostage " + Number + ", revision 0123456789ab, changed since": {{Key: "vcs.modified", Value: "true"}, rev},
		"Retrostage " + Number + ", revision 7":                           {{Key: "vcs.revision", Value: "7"}},
	} {
		if got := of(s); got != want {
			t.Errorf("%v: %q, not %q", s, got, want)
		}
	}
}

// The change log is kept by hand, and names this version first.
func TestChangeLogNamesThisVersionFirst(t *testing.T) {
	b, err := os.ReadFile("../../CHANGELOG.md")
	if err != nil {
		t.Fatal(err)
	}
	m := regexp.MustCompile(`(?m)^## (\S+)`).FindSubmatch(b)
	if m == nil || string(m[1]) != Number {
		t.Errorf("CHANGELOG.md begins with %q, the program is %s", m, Number)
	}
}
