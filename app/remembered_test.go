package app

import (
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2/test"

	"retrostage/assets/soak"
)

// FuzzPreferences: whatever the toolkit's file of settings holds, the window opens.
func FuzzPreferences(f *testing.F) {
	f.Add(`{"suction":{"Key":"suction_pressure","Unit":"psig"}}`, `{"model":"model"}`)
	f.Add("null", "[]")
	f.Add(strings.Repeat("[", 4000), `{"a":1}`)
	f.Fuzz(func(t *testing.T, columns, lists string) {
		began := time.Now()
		c, l := remembered(columns, lists)
		if c == nil || l == nil {
			t.Fatal("nothing to remember in")
		}
		if d := time.Since(began); d > 10*time.Second {
			t.Errorf("took %v", d)
		}
	})
}

// Ten megabytes of anything in place of what is remembered are read or let go in a second
// of the processor and 200 MB.
func TestTenMegabytesRemembered(t *testing.T) {
	pref := test.NewTempApp(t).Preferences()
	for name, b := range soak.Hostile(`{"suction":`, `{"Key":"suction_pressure","Unit":"psig"},`) {
		soak.Bounded(t, "columns and lists of "+name, func() { remembered(string(b), string(b)) })
		pref.SetString("own", string(b))
		soak.Bounded(t, "what is one's own of "+name, func() {
			if o := recall(pref); o.Begun || len(o.Tools) > 0 {
				t.Errorf("%s: %+v", name, o)
			}
		})
		if got := aName(string(b)); len(got) > 200 {
			t.Errorf("%s: a name of %d bytes", name, len(got))
		}
	}
}
