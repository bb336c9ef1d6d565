package record

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"
)

// A job file of one reading, and what is done to it: each is refused by name.
func TestStrictFile(t *testing.T) {
	j := New("job-1")
	at := time.Date(2026, 8, 14, 10, 0, 0, 0, time.UTC)
	if err := j.Set(Entry{Key: SuctionPressure, Value: "120", Time: at}); err != nil {
		t.Fatal(err)
	}
	s := Series{Name: "a.csv", Start: at, Seconds: []float64{0, 10}, Columns: []SeriesColumn{{Key: SuctionTemp, Unit: "degF", Values: []float64{52, 53}}}}
	s.Columns[0].Unit = SuctionTemp.Field().Unit
	j.AddLog(s)
	b, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Decode(b); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct{ old, new, says string }{
		"second entries":     {`"drafts": []`, `"drafts": [], "entries": []`, "there twice"},
		"of another case":    {`"drafts": []`, `"drafts": [], "Entries": []`, "there twice"},
		"twice in an entry":  {`"value": "120"`, `"value": "120", "value": "130"`, "there twice"},
		"year 9999":          {`"time": "2026`, `"time": "9999`, "outside 1970 to 2100"},
		"unit of garbage":    {`"drafts": []`, `"drafts": [], "unit": {"garbage": 1}`, "unit"},
		"unit of a number":   {`"drafts": []`, `"drafts": [], "unit": 7`, "unit"},
		"below absolute 0":   {"     52,", "     -900,", "suction"},
		"1e308":              {"     52,", "     1e308,", "suction"},
		"log runs backwards": {"    10\n", "    -10\n", "outside 0"},
		"after":              {`"after": 1`, `"after": -1`, "cannot be"},
	} {
		if !bytes.Contains(b, []byte(c.old)) {
			t.Errorf("%s: the file does not hold %q:\n%s", name, c.old, b)
			continue
		}
		_, err := Decode(bytes.Replace(b, []byte(c.old), []byte(c.new), 1))
		if err == nil || !strings.Contains(strings.ToLower(err.Error()), c.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := Decode([]byte(strings.Repeat("[", 1<<20))); err == nil {
		t.Error("a pit of brackets passed")
	}
}

// Two logs of one name, and a list of instruments without one that took a reading.
func TestTakeRefuses(t *testing.T) {
	j := New("job-1")
	at := time.Date(2026, 8, 14, 10, 0, 0, 0, time.UTC)
	e := Entry{Key: SuctionPressure, Value: "120", Unit: SuctionPressure.Field().Unit, Instrument: "T2", Time: at}
	if err := j.Take(e); err == nil {
		t.Error("an instrument that is not listed was taken")
	}
	if err := j.TakeInstruments([]Instrument{{ID: "T2"}}); err != nil {
		t.Fatal(err)
	}
	if err := j.Take(e); err != nil {
		t.Fatal(err)
	}
	if err := j.TakeInstruments(nil); err == nil {
		t.Error("the instrument of a reading was left out")
	}
	e.Value = "a lot"
	if err := j.Take(e); err == nil || len(j.Entries) != 1 {
		t.Error("no number was taken as one")
	}
}

// 10 MB of anything is no more than read and refused.
func BenchmarkDecodeHostile(b *testing.B) {
	many, _ := json.Marshal(make([]int, 1_000_000))
	for name, text := range map[string]string{
		"brackets": strings.Repeat("[", 10<<20),
		"members":  `{"entries":[` + strings.Repeat(`{"key":"owner_ref"},`, 10<<20/20) + `{}]}`,
		"names": func() string {
			var s strings.Builder
			s.WriteString("{")
			for i := 0; s.Len() < 10<<20; i++ {
				fmt.Fprintf(&s, `"%d":1,`, i)
			}
			return s.String() + `"x":1}`
		}(),
		"numbers": `{"series":[{"seconds":` + string(many) + `}]}`,
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Decode([]byte(text)); err == nil {
					b.Fatal("passed")
				}
			}
		})
	}
}
