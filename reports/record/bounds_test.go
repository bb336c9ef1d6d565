package record

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"retrostage/assets/soak"
)

// Ten megabytes of anything in place of a job file are read or refused in a second of the
// processor and 200 MB.
func TestTenMegabytes(t *testing.T) {
	j := New("job-1")
	b, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	head, _, _ := bytes.Cut(b, []byte(`"entries": [`))
	of := func(line string) []byte {
		return []byte(string(head) + `"entries": [` + strings.TrimSuffix(strings.Repeat(line+",", (10<<20)/(len(line)+1)), ",") + `], "drafts": []}`)
	}
	things := soak.Hostile(string(head)+`"entries": [`, `{"key":"owner_ref"},`)
	entry := `{"key":"suction_temp","value":"55","unit":"degF","time":"2026-08-14T10:00:00Z"}`
	things["entries"] = of(entry)
	things["entries, as many as there can be"] = []byte(string(head) + `"entries": [` + strings.TrimSuffix(strings.Repeat(entry+",", MaxEntries), ",") + `], "drafts": []}`)
	things["drafts"] = []byte(string(head) + `"entries": [], "drafts": [` + strings.TrimSuffix(strings.Repeat(`{"key":"suction_temp","value":"x","reason":"y"},`, 200_000), ",") + `]}`)
	things["one log"] = []byte(string(head) + `"entries": [], "drafts": [], "series": [{"name":"a","start":"2026-08-14T10:00:00Z","seconds":[` + strings.TrimSuffix(strings.Repeat("1,", 5_000_000), ",") + `],"columns":[]}]}`)
	var names strings.Builder
	names.WriteString("{")
	for i := 0; names.Len() < 10<<20; i++ {
		fmt.Fprintf(&names, `"%d":1,`, i)
	}
	things["names"] = []byte(names.String() + `"x":1}`)
	for name, b := range things {
		soak.Bounded(t, "a job file of "+name, func() {
			if j, err := Decode(b); err == nil && len(j.Entries) == 0 && len(j.Drafts) == 0 {
				t.Errorf("%s: a job out of nothing", name)
			}
		})
	}
}
