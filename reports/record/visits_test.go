package record

import (
	"strings"
	"testing"
	"time"
)

var visitDay = time.Date(2026, 8, 14, 10, 0, 0, 0, time.UTC)

func put(t *testing.T, j *Job, key Key, value string) {
	t.Helper()
	if err := j.Set(Entry{Key: key, Value: value, Time: visitDay, By: "T-17"}); err != nil {
		t.Fatal(err)
	}
}

// A vacuum drawn again in a second opening: no reading of the first is judged with one of
// the second, and the first is still there.
func TestASetIsDoneAgain(t *testing.T) {
	j := New("job-1")
	put(t, j, VacuumEnd, "320")
	put(t, j, VacuumTime, "15")
	put(t, j, SuctionPressure, "118")
	put(t, j, SuctionTemp, "52")
	if _, err := j.Again("vacuum", "T-17", visitDay); err == nil || j.Text(VacuumEnd) == "" {
		t.Fatalf("done again without a visit: %v", err)
	}
	if err := j.BeginVisit("second opening", "2026-09-20", "T-18", visitDay); err != nil {
		t.Fatal(err)
	}
	if _, err := j.Again("welding", "T-18", visitDay); err == nil {
		t.Error("a set that is none")
	}
	n, err := j.Again("vacuum", "T-18", visitDay)
	if err != nil || n != 2 || j.Text(VacuumEnd) != "" || j.Text(VacuumTime) != "" {
		t.Fatalf("%d, %v: %s stands", n, err, j.Text(VacuumEnd))
	}
	if j.Text(SuctionPressure) != "118" {
		t.Error("another set was cleared")
	}
	put(t, j, VacuumEnd, "280")
	if n, err := j.Again("vacuum", "T-18", visitDay); err == nil || j.Text(VacuumEnd) != "280" {
		t.Errorf("what this visit read was cleared: %d", n)
	}
	s, _ := SetOf("vacuum")
	vs, of := j.Earlier(s)
	if len(vs) != 1 || vs[0] != (Visit{}) || len(of[""]) != 2 || of[""][0].Entry.Value != "320" {
		t.Errorf("earlier: %v %v", vs, of)
	}
	put(t, j, SuctionPressure, "121")
	base, cs := j.Baseline()
	if base != (Visit{}) || len(cs) != 2 || cs[0].By != "+3" || cs[1].Now.Value != "" || cs[1].By != "" {
		t.Errorf("baseline %v: %+v", base, cs)
	}
	b, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	again, err := Decode(b)
	if err != nil || len(again.Visits()) != 2 || again.Visits()[1].Person != "T-18" {
		t.Errorf("read again: %v, %v", again, err)
	}
}

func TestVisitsThatAreNone(t *testing.T) {
	j := New("job-1")
	for _, c := range []struct{ kind, date, person, want string }{
		{"party", "2026-09-20", "T-18", "no kind"}, {"callback", "soon", "T-18", "no day"}, {"callback", "2026-09-31", "T-18", "no day"},
		{"callback", "2026-09-20", " ", "person"}, {"callback", "2026-09-20", "a\nb", "no visit"},
		{"callback", "2026-09-20", strings.Repeat("x", 300), "no visit"}} {
		if err := j.BeginVisit(c.kind, c.date, c.person, visitDay); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: %v", c, err)
		}
	}
	if len(j.Entries) != 0 {
		t.Error("a visit that is none was entered")
	}
	for range 2 {
		j.BeginVisit("callback", "2026-09-20", "T-18", visitDay)
	}
	if len(j.Visits()) != 1 {
		t.Errorf("%v", j.Visits())
	}
	bad := strings.Replace(string(must(j.Encode())), "2026-09-20; callback", "2026-09-20; party", 2)
	if _, err := Decode([]byte(bad)); err == nil {
		t.Error("a file with a visit that is none is read")
	}
}

// A signature is changed by what a later visit enters, and a diagnosis asks for no part
// that is not there: it stays open and says why.
func TestVisitAndSignature(t *testing.T) {
	j := New("job-1")
	put(t, j, SuctionPressure, "118")
	put(t, j, SignedBy, "T-17")
	if s, _ := j.Signed(); !s.Stands {
		t.Fatal("not signed")
	}
	if err := j.BeginVisit("callback", "2026-09-20", "T-18", visitDay); err != nil {
		t.Fatal(err)
	}
	if s, _ := j.Signed(); s.Stands {
		t.Error("the signature stands for a visit that it does not know")
	}
	k := New("job-2")
	if k.NotYet(NewCompressorSerial) != "" {
		t.Error("without a visit")
	}
	k.BeginVisit(VisitDiagnosis, "2026-09-20", "T-18", visitDay)
	if k.NotYet(NewCompressorSerial) == "" || k.NotYet(OilState) == "" || k.NotYet(SuctionTemp) != "" {
		t.Error("what a diagnosis cannot know")
	}
	k.BeginVisit("fitted", "2026-09-21", "T-18", visitDay)
	if k.NotYet(NewCompressorSerial) != "" {
		t.Error("when it is fitted the serial number is there")
	}
}

func must(b []byte, err error) []byte {
	if err != nil {
		panic(err)
	}
	return b
}
