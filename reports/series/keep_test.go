package series

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"retrostage/reports/record"
)

const logged = `Time;Suction press (psig);Suction line temp (degF);note;Liquid pressure (psig)
2026-08-14 12:00:00;120,5;57,0;x;341
2026-08-14 12:00:30;120,9;;y;342
2026-08-14 12:01:00;121,0;56,8;z;343
`

func TestKeepTakesTheChosenColumns(t *testing.T) {
	l, err := Detect([]byte(logged))
	if err != nil {
		t.Fatal(err)
	}
	var guesses []string
	for _, c := range l.Columns {
		guesses = append(guesses, Guess(c).String())
	}
	if got := fmt.Sprint(guesses); got != "[ suction_pressure suction_temp  liquid_pressure]" {
		t.Errorf("guesses %s", got)
	}
	use := []Use{{4, record.LiquidPressure, "psig"}, {2, record.SuctionTemp, "F"}}
	s, notes, err := Keep([]byte(logged), l, "log", use)
	if err != nil {
		t.Fatal(err)
	}
	if fmt.Sprint(s.Seconds) != "[0 60]" || fmt.Sprint(s.Columns[0].Values) != "[341 343]" || fmt.Sprint(s.Columns[1].Values) != "[57 56.8]" {
		t.Errorf("kept %+v", s)
	}
	if len(notes) != 1 || !strings.Contains(notes[0], "1 of 3 lines") {
		t.Errorf("notes %q", notes)
	}
	// What is kept is what a job can hold.
	j := record.New("k-1")
	j.Series = append(j.Series, s)
	b, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := record.Decode(b); err != nil {
		t.Error(err)
	}
	for _, c := range []struct {
		use  Use
		want string
	}{
		{Use{1, record.SuctionTemp, "psig"}, "in which unit"}, {Use{4, record.LiquidPressure, "bar"}, "outside"},
		{Use{3, record.SuctionTemp, "F"}, "no readings"}, {Use{0, record.SuctionTemp, "F"}, "no readings"}, {Use{9, record.SuctionTemp, "F"}, "no readings"},
		{Use{1, record.OwnerRef, ""}, "takes no reading"},
	} {
		_, _, err := Keep([]byte(logged), l, "log", []Use{c.use})
		var at *UseError
		if !errors.As(err, &at) || at.Column != c.use.Column || !strings.Contains(at.Reason, c.want) {
			t.Errorf("%+v: error %v, want %q", c.use, err, c.want)
		}
	}
	if _, _, err := Keep([]byte(logged), l, "log", []Use{use[0], use[0]}); err == nil || !strings.Contains(err.Error(), "another column") {
		t.Errorf("one field filled twice: %v", err)
	}
	if _, _, err := Keep([]byte(logged), l, "log", nil); err == nil {
		t.Error("nothing chosen was kept")
	}
}

func TestKeepThinsALongLog(t *testing.T) {
	var b strings.Builder
	b.WriteString("s,Suction pressure (psig)\n")
	for i := range 2*MaxKept + 1 {
		fmt.Fprintf(&b, "%d,120\n", i)
	}
	l, err := Detect([]byte(b.String()))
	if err != nil {
		t.Fatal(err)
	}
	s, notes, err := Keep([]byte(b.String()), l, "long", []Use{{1, record.SuctionPressure, "psig"}})
	if err != nil || len(s.Seconds) > MaxKept || s.Seconds[1] != 3 || len(notes) != 1 {
		t.Errorf("%d lines, then %v s, notes %q, %v", len(s.Seconds), s.Seconds[1], notes, err)
	}
}

func TestWhatIsKnownOutranksWhatIsDetected(t *testing.T) {
	text := []byte("t;watts (W)\n1;2,500\n2;3,500\n")
	for _, c := range []struct {
		known Known
		want  float64
	}{{Known{}, 2.5}, {Known{Decimal: ','}, 2.5}, {Known{Decimal: '.'}, 2500}, {Known{Delimiter: ';', Decimal: '.'}, 2500}} {
		l, err := DetectAs(text, c.known)
		if err != nil {
			t.Fatal(err)
		}
		g, err := Read(text, l)
		if err != nil {
			t.Fatal(err)
		}
		if x, _ := g.Value(0, 0); x != c.want {
			t.Errorf("%+v: the first reading is %g, want %g", c.known, x, c.want)
		}
	}
	l, err := DetectAs(text, Known{Delimiter: ','})
	if err == nil && l.Delimiter != ',' {
		t.Errorf("comma asked for, %q used", l.Delimiter)
	}
	if _, err := DetectAs(text, Known{Delimiter: '|'}); err == nil {
		t.Error("a delimiter that is not there splits lines")
	}
}
