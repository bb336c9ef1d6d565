package workbook_test

import (
	"os"
	"testing"
	"time"
	"bytes"

	"retrostage/reports/assess"
	"retrostage/reports/demo"
	"retrostage/reports/workbook"
	"retrostage/thermo/units"
)

func TestTry(t *testing.T) {
	for i, sys := range []units.System{units.IP, units.SI} {
		j, flaw, err := demo.Job(1, i+1)
		if err != nil { t.Fatal(err) }
		rep, err := assess.Run(j)
		if err != nil { t.Fatal(err) }
		var buf bytes.Buffer
		opt := workbook.Options{System: sys}
		if sys == units.SI { opt.Paper = workbook.A4 }
		if err := workbook.Write(&buf, j, rep, opt); err != nil { t.Fatal(err) }
		for range 3 {
		t0 := time.Now()
		buf.Reset()
		if err := workbook.Write(&buf, j, rep, opt); err != nil { t.Fatal(err) }
		t1 := time.Now()
		r, err := workbook.ReadBytes(buf.Bytes())
		t.Log(flaw, buf.Len(), t1.Sub(t0), time.Since(t1), r.State, err, len(r.Changes))
		for k, c := range r.Changes { if k < 5 { t.Log(c) } }
		}
		os.WriteFile("/tmp/paper/try"+sys.String()+".xlsx", buf.Bytes(), 0o644)
	}
}
