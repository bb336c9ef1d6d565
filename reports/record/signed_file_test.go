package record_test

import (
	"testing"

	"retrostage/reports/demo"
	"retrostage/reports/record"
)

// A signature stands after the job went through its file, with a unit as drawn and
// without; it falls when the unit is another.
func TestSignatureOutlivesFile(t *testing.T) {
	units := 0
	for i := range 8 {
		j, _, err := demo.Job(77, i)
		if err != nil {
			t.Fatal(err)
		}
		b, err := j.Encode()
		if err != nil {
			t.Fatal(err)
		}
		k, err := record.Decode(b)
		if err != nil {
			t.Fatal(err)
		}
		before, ok := j.Signed()
		after, _ := k.Signed()
		if !ok || before.Stands != after.Stands {
			t.Errorf("job %d: stands %v before the file, %v after, since %v", i, before.Stands, after.Stands, after.Since)
		}
		if len(k.Unit) == 0 {
			continue
		}
		units++
		k.Unit = append(k.Unit[:len(k.Unit)-1:len(k.Unit)-1], []byte(`,"x":1}`)...)
		if s, _ := k.Signed(); s.Stands {
			t.Errorf("job %d: the signature stands for another unit", i)
		}
	}
	if units == 0 {
		t.Error("no job had a unit")
	}
}
