package store

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
)

// attempt is a store under attack: what it acknowledged has to be there when it is opened
// anew, from the same path and as after a crash, without a closing that could mend things.
type attempt struct {
	t    *testing.T
	dir  string
	l    *Local
	j    *record.Job
	n    int
	said []string // values that were acknowledged as saved
}

// type1 enters another reading and saves; it tells whether that was acknowledged.
func (a *attempt) type1() error {
	a.n++
	v := fmt.Sprint(20 + a.n)
	must0(a.j.Set(record.Entry{Key: record.SuctionTemp, Value: v, Time: at, By: "T-17"}))
	err := a.l.Save(a.j, "T-17")
	if err == nil {
		a.said = append(a.said, v)
	}
	return err
}

// crash copies the folder as it lies there, and looks for what was acknowledged.
func (a *attempt) crash() {
	a.t.Helper()
	to := a.t.TempDir()
	paths, _ := filepath.Glob(filepath.Join(a.dir, File+"*"))
	for _, p := range paths {
		if strings.HasSuffix(p, "-shm") {
			continue
		}
		b, err := os.ReadFile(p)
		must(a.t, err)
		must(a.t, os.WriteFile(filepath.Join(to, filepath.Base(p)), b, 0o600))
	}
	l, err := Open(to)
	must(a.t, err)
	defer l.Close()
	s, err := l.State(a.j.ID)
	if err != nil && len(a.said) > 0 {
		a.t.Errorf("acknowledged %v, and there is no job: %v", a.said, err)
		return
	}
	have := map[string]bool{}
	if s.Job != nil {
		for _, e := range s.Job.Entries {
			have[e.Value] = true
		}
	}
	for _, v := range a.said {
		if !have[v] {
			a.t.Errorf("acknowledged and not there: %s", v)
		}
	}
}

// Ways to have "saved" said of what is not: testdata/attempts/saved.md lists them.
func TestSavedAttempts(t *testing.T) {
	refused := func(a *attempt, err error, word string) {
		a.t.Helper()
		if err == nil || !strings.Contains(err.Error(), word) {
			a.t.Errorf("it says %v, and should speak of %q", err, word)
		}
	}
	p := func(a *attempt, suffix string) string { return filepath.Join(a.dir, File+suffix) }
	for name, do := range map[string]func(a *attempt){
		"01 the file is removed while it is open": func(a *attempt) {
			must(t, os.Remove(p(a, "")))
			refused(a, a.type1(), "removed or put elsewhere")
			a.said = nil // gone with the file, and not by this program
		},
		"02 the folder is moved": func(a *attempt) {
			must(t, os.Rename(a.dir, a.dir+"-moved"))
			refused(a, a.type1(), "removed or put elsewhere")
			must(t, os.Rename(a.dir+"-moved", a.dir))
			must(t, a.l.Save(a.j, "T-17")) // back again: all of it is kept
			a.said = append(a.said, fmt.Sprint(20+a.n))
		},
		"03 another file is put in its place": func(a *attempt) {
			must(t, os.Rename(p(a, ""), p(a, "")+".old"))
			must(t, os.WriteFile(p(a, ""), nil, 0o600))
			refused(a, a.type1(), "another file")
			must(t, os.Rename(p(a, "")+".old", p(a, "")))
		},
		"04 its log is removed": func(a *attempt) {
			must(t, a.type1())
			must(t, os.Remove(p(a, "-wal")))
			must(t, a.type1())
			must(t, a.type1())
		},
		"05 its log is put elsewhere, and back": func(a *attempt) {
			must(t, a.type1())
			must(t, os.Rename(p(a, "-wal"), p(a, "-wal")+".x"))
			must(t, a.type1())
			must(t, os.Remove(p(a, "-wal")+".x"))
			must(t, a.type1())
		},
		"06 the lock's file is removed and a second writer comes": func(a *attempt) {
			must(t, os.Remove(filepath.Join(a.dir, "writer")))
			b, err := Open(a.dir)
			must(t, err)
			defer b.Close()
			k, err := b.Load(a.j.ID)
			must(t, err)
			for range 5 {
				must(t, a.type1())
				must0(k.Set(record.Entry{Key: record.LiquidTemp, Value: fmt.Sprint(60 + a.n), Time: at}))
				must(t, b.Save(k, ""))
				a.said = append(a.said, fmt.Sprint(60+a.n))
			}
		},
		"07 a writer's name of 30,000 bytes": func(a *attempt) {
			must0(a.j.Set(record.Entry{Key: record.LiquidTemp, Value: "90", Time: at, By: strings.Repeat("x", 30000)}))
			refused(a, a.l.Save(a.j, ""), "too long")
		},
		"08 a writer's name that is no text": func(a *attempt) {
			must0(a.j.Set(record.Entry{Key: record.LiquidTemp, Value: "90", Time: at, By: "\xff\xfe"}))
			refused(a, a.l.Save(a.j, ""), "written by")
		},
		"09 a writer's name with the separator of columns in it": func(a *attempt) {
			must0(a.j.Set(record.Entry{Key: record.LiquidTemp, Value: "91", Time: at, By: "T\x1f17\x1f"}))
			must(t, a.l.Save(a.j, "T\x1f17\x1f"))
			a.said = append(a.said, "91")
		},
		"10 a time in the year 2101": func(a *attempt) {
			must0(a.j.Set(record.Entry{Key: record.LiquidTemp, Value: "90", Time: at.AddDate(75, 0, 0)}))
			refused(a, a.l.Save(a.j, ""), "2101")
		},
		"11 no time": func(a *attempt) {
			must0(a.j.Set(record.Entry{Key: record.LiquidTemp, Value: "90"}))
			refused(a, a.l.Save(a.j, ""), "time")
		},
		"12 entries taken out before saving": func(a *attempt) {
			must(t, a.type1())
			a.j.Entries = a.j.Entries[:1]
			refused(a, a.l.Save(a.j, ""), "entries are gone")
		},
		"13 an entry changed behind the store's back": func(a *attempt) {
			a.j.Entries = append([]record.Entry(nil), a.j.Entries...)
			a.j.Entries[len(a.j.Entries)-1].Value = "99"
			refused(a, a.l.Save(a.j, ""), "another than was saved")
		},
		"14 a job of the same name that was not loaded": func(a *attempt) {
			b, err := Open(a.dir) // reads only
			must(t, err)
			refused(a, b.Save(record.New(a.j.ID), ""), "open for writing elsewhere")
			must(t, b.Close())
			must(t, a.l.Close())
			a.l, err = Open(a.dir)
			must(t, err)
			refused(a, a.l.Save(a.j, ""), "was not loaded")
		},
		"15 the older of two loads is saved": func(a *attempt) {
			old := a.j
			k, err := a.l.Load(old.ID)
			must(t, err)
			must0(k.Set(record.Entry{Key: record.LiquidTemp, Value: "92", Time: at}))
			must(t, a.l.Save(k, ""))
			a.said = append(a.said, "92")
			must0(old.Set(record.Entry{Key: record.OutdoorTemp, Value: "93", Time: at}))
			if err := a.l.Save(old, ""); err == nil {
				a.said = append(a.said, "93")
			}
		},
		"16 a log with a value that is no number": func(a *attempt) {
			a.j.AddLog(record.Series{Name: "a", Start: at, Seconds: []float64{0, 1}, Columns: []record.SeriesColumn{{Key: record.SuctionTemp, Unit: "F", Values: []float64{1, nan()}}}})
			refused(a, a.l.Save(a.j, ""), "NaN")
		},
		"17 a log of another length than its times": func(a *attempt) {
			a.j.AddLog(record.Series{Name: "a", Start: at, Seconds: []float64{0, 1}, Columns: []record.SeriesColumn{{Key: record.SuctionTemp, Unit: "F", Values: []float64{1}}}})
			refused(a, a.l.Save(a.j, ""), "")
		},
		"18 a unit that is none": func(a *attempt) {
			a.j.Unit = []byte(`{"title":`)
			refused(a, a.l.Save(a.j, ""), "")
		},
		"19 a step that is none": func(a *attempt) {
			a.j.Step = "lunch"
			refused(a, a.l.Save(a.j, ""), "lunch")
		},
		"20 two instruments of one name": func(a *attempt) {
			a.j.Instruments = []record.Instrument{{ID: "T1", Name: "a", Accuracy: []record.Accuracy{}}, {ID: "T1", Name: "b", Accuracy: []record.Accuracy{}}}
			refused(a, a.l.Save(a.j, ""), "twice")
		},
		"21 a visit that is none": func(a *attempt) {
			must0(a.j.Set(record.Entry{Key: record.LiquidTemp, Value: "90", Time: at}))
			a.j.Entries[len(a.j.Entries)-1].Visit = "some day"
			refused(a, a.l.Save(a.j, ""), "visit")
		},
		"22 the key of the job is taken out of the file": func(a *attempt) {
			note := func(v string) {
				must0(a.j.Set(record.Entry{Key: record.IntakeNote, Value: v, Time: at}))
				must(t, a.l.Save(a.j, ""))
			}
			note("first")
			_, err := a.l.db.Exec("DELETE FROM keys")
			must(t, err)
			note("second") // the first was acknowledged; the open program has it still
			if s, err := a.l.State(a.j.ID); err != nil || s.Job.Text(record.IntakeNote) != "second" {
				a.t.Errorf("%v", err)
			}
		},
		"23 closed, then saved": func(a *attempt) {
			must(t, a.l.Close())
			refused(a, a.type1(), "")
		},
		"24 the same folder opened twice in one process": func(a *attempt) {
			b, err := Open(a.dir)
			must(t, err)
			defer b.Close()
			k, err := b.Load(a.j.ID)
			must(t, err)
			must0(k.Set(record.Entry{Key: record.LiquidTemp, Value: "94", Time: at}))
			refused(a, b.Save(k, ""), "only be read")
			must(t, a.type1())
		},
		"25 a trigger that swallows what is put in": func(a *attempt) {
			_, err := a.l.db.Exec("CREATE TRIGGER swallow BEFORE INSERT ON events BEGIN SELECT RAISE(IGNORE); END")
			must(t, err)
			if err := a.type1(); err == nil {
				a.t.Error("saved, and swallowed")
			}
		},
		"26 a file that may no longer be written": func(a *attempt) {
			_, err := a.l.db.Exec("PRAGMA query_only = ON")
			must(t, err)
			refused(a, a.type1(), "")
			_, err = a.l.db.Exec("PRAGMA query_only = OFF")
			must(t, err)
			must(t, a.type1())
		},
		"27 another program holds the database": func(a *attempt) {
			db, err := connect(p(a, ""), "rw")
			must(t, err)
			defer db.Close()
			tx, err := db.Begin()
			must(t, err)
			_, err = tx.Exec("INSERT INTO meta VALUES ('x', 'y')")
			must(t, err)
			if testing.Short() {
				t.Skip()
			}
			refused(a, a.type1(), "")
			must(t, tx.Rollback())
			must(t, a.l.Save(a.j, ""))
			a.said = append(a.said, fmt.Sprint(20+a.n))
		},
		"28 a photo of a job that is none": func(a *attempt) {
			_, err := a.l.Attach("job-none", "", "a.png", "", bytes.NewReader(nil))
			refused(a, err, "")
		},
		"29 a photo that breaks off": func(a *attempt) {
			_, err := a.l.Attach(a.j.ID, "", "a.jpg", "", io.MultiReader(strings.NewReader("\xff\xd8"), broken{}))
			refused(a, err, "broke off")
		},
		"30 an older copy is put in the place of the file, and the folder has the rest": func(a *attempt) {
			shared := a.t.TempDir()
			old := filepath.Join(a.t.TempDir(), "old.db")
			must(t, a.l.Backup(old, false))
			must(t, a.type1())
			_, err := a.l.Exchange(shared)
			must(t, err)
			must(t, a.l.Close())
			for _, s := range []string{"", "-wal", "-shm"} {
				os.Remove(p(a, s))
			}
			must(t, copyFile(old, p(a, "")))
			a.l, err = Open(a.dir)
			must(t, err)
			_, err = a.l.Exchange(shared)
			must(t, err)
			a.j, err = a.l.Load(a.j.ID)
			must(t, err)
			must(t, a.type1())
		},
		"31 two tablets from one copied folder exchange": func(a *attempt) {
			shared, twin := a.t.TempDir(), a.t.TempDir()
			must(t, a.l.Backup(filepath.Join(twin, File), false))
			b, err := Open(twin)
			must(t, err)
			defer b.Close()
			k, err := b.Load(a.j.ID)
			must(t, err)
			must(t, a.type1())
			must0(k.Set(record.Entry{Key: record.LiquidTemp, Value: "95", Time: at}))
			must(t, b.Save(k, ""))
			for range 2 {
				for _, x := range []*Local{a.l, b} {
					_, err := x.Exchange(shared)
					must(t, err)
				}
			}
			a.said = append(a.said, "95")
		},
		"32 the shared folder is full": func(a *attempt) {
			shared := a.t.TempDir()
			must(t, os.WriteFile(filepath.Join(shared, "tablet-"+a.l.device), nil, 0o600)) // no folder can be made there
			_, err := a.l.Exchange(shared)
			refused(a, err, "shared folder")
			must(t, os.Remove(filepath.Join(shared, "tablet-"+a.l.device)))
			if x, err := a.l.Exchange(shared); err != nil || x.Sent == 0 {
				a.t.Errorf("what was not sent was marked as sent: %s, %v", x, err)
			}
		},
		"33 the day's copy fails at closing": func(a *attempt) {
			must(t, a.type1())
			must(t, os.WriteFile(filepath.Join(a.dir, copies), nil, 0o600))
			if err := a.l.Close(); err == nil {
				a.t.Error("no word of the copy that was not made")
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			a := &attempt{t: t, dir: filepath.Join(t.TempDir(), "jobs"), j: record.New("job-1")}
			var err error
			a.l, err = Open(a.dir)
			must(t, err)
			defer func() { a.l.Close() }()
			must(t, a.type1())
			do(a)
			a.crash()
		})
	}
}

func nan() float64 {
	z := 0.0
	return z / z
}

type broken struct{}

func (broken) Read([]byte) (int, error) {
	time.Sleep(time.Millisecond)
	return 0, errors.New("the stick broke off")
}
