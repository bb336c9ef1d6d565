package store

import (
	"net/url"
	"testing"
)

// SQLite's account of URI filenames (sqlite.org/uri.html, from memory): three slashes
// before a drive's letter, an empty authority.
func TestAddress(t *testing.T) {
	for path, want := range map[string]string{
		"/home/a b/jobs.db":      "file:///home/a%20b/jobs.db?mode=rw",
		"C:/Users/a?b#c/jobs.db": "file:///C:/Users/a%3Fb%23c/jobs.db?mode=rw",
		"//server/share/jobs.db": "file:////server/share/jobs.db?mode=rw",
	} {
		if got := address(path, url.Values{"mode": {"rw"}}); got != want {
			t.Errorf("%s became %s, not %s", path, got, want)
		}
	}
}
