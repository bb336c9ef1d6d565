package store

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"retrostage/reports/record"
)

// What the quick reader takes, the strict one reads to the same; what this program
// writes of a plain entry, the quick one takes.
func FuzzPlain(f *testing.F) {
	for _, s := range []string{
		`{"entry":{"key":"suction_temp","value":"55","unit":"F","time":"2026-08-14T12:00:00Z","instrument":"A","by":"T-17","again":true}}`,
		`{"entry":{"key":"owner_ref","value":"R","typed":"r","time":"2026-08-14T12:00:00+02:00"}}`,
		`{"entry":{"key":"owner_ref","value":"a\u0062","time":"2026-08-14T12:00:00Z"}}`,
		`{"entry":{"key":"owner_ref","value":"","time":"2026-08-14T12:00:00Z"}} `,
		`{"entry":{"key":"owner_ref","value":"","time":"2026-08-14T24:00:00Z"},"step":"intake"}`,
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		e, ok := plainEntry(b)
		if !ok {
			return
		}
		p, err := strictly(b)
		if err != nil || p.Entry == nil {
			t.Fatalf("%q: the strict reader says %v", b, err)
		}
		if d := cmp.Diff(*p.Entry, e, cmp.Comparer(func(a, b record.Key) bool { return a == b })); d != "" {
			t.Fatalf("%q: %s", b, d)
		}
		x, _ := json.Marshal(p.Entry.Time)
		y, _ := json.Marshal(e.Time)
		if string(x) != string(y) {
			t.Fatalf("%q: %s and %s", b, x, y)
		}
	})
}

func TestPlainIsTaken(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[A-Za-z0-9 .<>&°é-]{0,12}`)
		e := record.Entry{Key: record.SuctionTemp, Value: word.Draw(t, "value"), Unit: word.Draw(t, "unit"), Typed: word.Draw(t, "typed"),
			Instrument: word.Draw(t, "instrument"), By: word.Draw(t, "by"), Again: rapid.Bool().Draw(t, "again"), Time: at}
		b, err := payload{Entry: &e}.encode()
		must0(err)
		got, ok := plainEntry(b)
		if !ok || cmp.Diff(got, e, cmp.Comparer(func(a, b record.Key) bool { return a == b })) != "" {
			t.Fatalf("%s: %v, %+v", b, ok, got)
		}
	})
}

// The sum is what it was from the first version on: written out here as it was then.
func TestSumIsTheFirstVersions(t *testing.T) {
	e := Event{ID: NewID(), Device: NewID(), Order: 77, Who: "T-17 é", When: time.UnixMicro(1_700_000_000_123_456), Kind: Entered, Answers: NewID(), Job: "job-1", Payload: []byte(`{"entry":1}`)}
	h := sha256.New()
	part := func(b []byte) {
		var n [8]byte
		binary.BigEndian.PutUint64(n[:], uint64(len(b)))
		h.Write(n[:])
		h.Write(b)
	}
	for _, s := range []string{e.ID, e.Device, e.Who, string(e.Kind), e.Answers, e.Job, e.Visit, e.JobKey} {
		part([]byte(s))
	}
	var n [16]byte
	binary.BigEndian.PutUint64(n[:8], uint64(e.Order))
	binary.BigEndian.PutUint64(n[8:], uint64(e.When.UnixMicro()))
	part(n[:])
	part(e.Payload)
	if string(h.Sum(nil)[:16]) != string(e.digested()) {
		t.Error("events of earlier versions would be taken for damaged")
	}
}
