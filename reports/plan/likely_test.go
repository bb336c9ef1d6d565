package plan

import (
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
	"retrostage/wiring/netlist"
)

// The list of old units begins with what Intake says of the one at hand, leaves none out,
// and tells each from every other in few words.
func TestLikeliest(t *testing.T) {
	told := map[string]string{}
	for _, c := range []struct{ staging, control, first string }{
		{"", "", ""},
		{record.StagingSolenoid, record.ControlConventional, "two-capacity-"},
		{record.StagingTwoSpeed, record.ControlConventional, "two-contactor-conventional"},
		{record.StagingTwoSpeed, record.ControlDigital, "two-contactor-digital"},
		{record.StagingTwo, record.ControlDigital, "parallel-tandem-digital"},
	} {
		j := record.New("job-1")
		for k, v := range map[record.Key]string{record.Staging: c.staging, record.IndoorControl: c.control} {
			if err := j.Set(record.Entry{Key: k, Value: v, Time: time.Unix(1e9, 0)}); err != nil {
				t.Fatal(err)
			}
		}
		ls, err := Likeliest(j)
		if err != nil || len(ls) != len(netlist.Catalogue()) {
			t.Fatalf("%d units of %d: %v", len(ls), len(netlist.Catalogue()), err)
		}
		if !strings.HasPrefix(ls[0].Name, c.first) {
			t.Errorf("%s, %s: %s is first", c.staging, c.control, ls[0].Name)
		}
		for i, l := range ls {
			n := 0
			for _, k := range ls {
				if len(k.Against) == 0 {
					n++
				}
			}
			if len(l.Against) > 0 && i < n {
				t.Errorf("%s, %s: %s stands before one that fits", c.staging, c.control, l.Name)
			}
			words := strings.Join(l.Tells, "; ") + l.Title
			if o := told[words]; o != "" && o != l.Name {
				t.Errorf("%s and %s are told by the same words", o, l.Name)
			}
			told[words] = l.Name
			if c.first == "" {
				t.Logf("%s: %s", l.Name, strings.Join(l.Tells, "; "))
			}
		}
	}
}

// A plain unit with the other contactor in it is still the plain unit: those with parts that
// few have come after it.
func TestAPlainUnitComesFirst(t *testing.T) {
	for _, poles := range []string{"", "1", "2"} {
		j := record.New("plain")
		for k, v := range map[record.Key]string{record.Staging: record.StagingSolenoid, record.IndoorControl: record.ControlConventional, record.OldPoles: poles} {
			if err := j.Set(record.Entry{Key: k, Value: v, Time: time.Unix(1.79e9, 0)}); err != nil {
				t.Fatal(err)
			}
		}
		ls, err := Likeliest(j)
		if err != nil {
			t.Fatal(err)
		}
		if ls[0].Name != "two-capacity-conventional" {
			t.Errorf("%s poles: %s comes first", poles, ls[0].Name)
		}
	}
}
