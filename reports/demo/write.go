package demo

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"time"

	"retrostage/reports/archive"
	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/reports/workbook"
	"retrostage/thermo/units"
)

// Workbook makes the ith job of a seed and its workbook. Two in three come back
// signed by an invented supervisor; some of those are returned.
func Workbook(seed uint64, i int, o workbook.Options) (*record.Job, []byte, error) {
	j, flaw, err := Job(seed, i)
	if err != nil {
		return nil, nil, err
	}
	r := rand.New(rand.NewPCG(seed, ^uint64(i)))
	if visit, err := time.Parse(time.DateOnly, j.Text(record.VisitDate)); err == nil && r.IntN(3) > 0 {
		o.Sign = workbook.Signature{Name: fmt.Sprintf("Demo supervisor %d", 1+r.IntN(3)),
			Date: visit.AddDate(0, 0, 1+r.IntN(12)).Format(time.DateOnly), Decision: "accept"}
		if flaw != None {
			o.Sign.Decision, o.Sign.Remarks = "return", "Please see to: "+string(flaw)
		}
	}
	var b bytes.Buffer
	if err := workbook.Write(&b, assess.New(j), o); err != nil {
		return nil, nil, err
	}
	return j, b.Bytes(), nil
}

// Write makes n jobs of a seed in dir: each a job file and its workbook, every
// fourth in metric units. progress may be nil.
func Write(dir string, n int, seed uint64, progress func(done int)) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	for i := range n {
		var o workbook.Options
		if i%4 == 3 {
			o.System, o.Paper = units.SI, workbook.A4
		}
		j, b, err := Workbook(seed, i, o)
		if err != nil {
			return err
		}
		if err := archive.WriteJob(filepath.Join(dir, j.ID+".job.json"), j); err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(dir, workbook.FileName(j)), b, 0o640); err != nil {
			return err
		}
		if progress != nil {
			progress(i + 1)
		}
	}
	return nil
}
