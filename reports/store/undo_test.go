package store

import (
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"retrostage/assets/soak"
	"retrostage/reports/archive"
	"retrostage/reports/plan"
	"retrostage/reports/record"
)

// Undo and redo go as in an editor: two stacks, the second emptied by whatever is
// done anew. The store has its events only, and is opened anew now and then.
func TestBackAndAgain(t *testing.T) {
	cases := 0
	rapid.Check(t, func(t *rapid.T) {
		if cases++; cases > soak.Count(40, 200) {
			return
		}
		dir, err := os.MkdirTemp("", "store-*")
		must0(err)
		defer os.RemoveAll(dir)
		l, err := Open(dir)
		must0(err)
		defer func() { l.Close() }()
		j := record.New("job-1")
		must0(l.Save(j, ""))
		keys := []record.Key{record.SuctionTemp, record.LiquidTemp, record.OutdoorTemp}
		var done, taken []map[record.Key]string // what stood before each edit, after each undo
		stands := map[record.Key]string{}
		copied := func() map[record.Key]string {
			c := map[record.Key]string{}
			for k, v := range stands {
				c[k] = v
			}
			return c
		}
		for i := range rapid.IntRange(1, 25).Draw(t, "acts") {
			switch rapid.IntRange(0, 5).Draw(t, "act") {
			case 0, 1, 2:
				k := rapid.SampledFrom(keys).Draw(t, "field")
				done, taken = append(done, copied()), nil
				if rapid.Bool().Draw(t, "typed on the way") {
					must0(j.TakeDraft(record.Draft{Key: k, Value: "4", Reason: "being typed"}))
					must0(l.Save(j, ""))
				}
				v := strconv.Itoa(40 + i)
				must0(j.Set(record.Entry{Key: k, Value: v, Time: at}))
				stands[k] = v
				must0(l.Save(j, ""))
			case 3:
				_, err := l.Back("job-1", "", false)
				if len(done) == 0 {
					if !errors.Is(err, ErrNothing) {
						t.Fatal(err)
					}
					break
				}
				must0(err)
				taken = append(taken, copied())
				stands, done = done[len(done)-1], done[:len(done)-1]
			case 4:
				_, err := l.Back("job-1", "", true)
				if len(taken) == 0 {
					if !errors.Is(err, ErrNothing) {
						t.Fatal(err)
					}
					break
				}
				must0(err)
				done = append(done, copied())
				stands, taken = taken[len(taken)-1], taken[:len(taken)-1]
			case 5:
				must0(l.Close())
				l, err = Open(dir)
				must0(err)
			}
			j, err = l.Load("job-1")
			must0(err)
			for _, k := range keys {
				if j.Text(k) != stands[k] {
					t.Fatalf("%v is %q, not %q", k, j.Text(k), stands[k])
				}
				if d, ok := j.Draft(k); ok {
					t.Fatalf("a draft shows: %+v", d)
				}
			}
		}
	})
}

// What is told of an act is the act, not its undo.
func TestBackTellsWhat(t *testing.T) {
	l := opened(t, t.TempDir())
	j := record.New("job-1")
	must0(j.Set(record.Entry{Key: record.SuctionTemp, Value: "50", Unit: "F", Time: at, By: "T-17"}))
	must(t, l.Save(j, ""))
	for _, again := range []bool{false, true, false, true} {
		a, err := l.Back("job-1", "T-2", again)
		must(t, err)
		if a.Key != record.SuctionTemp || a.Value != "50 F" || a.Who != "T-17" {
			t.Errorf("%+v", a)
		}
	}
}

// Two jobs begun before either is saved have two names.
func TestNewJobs(t *testing.T) {
	l := opened(t, t.TempDir())
	a, err := l.NewJob()
	must(t, err)
	b, err := l.NewJob()
	must(t, err)
	if a.ID == b.ID {
		t.Error(a.ID, "twice")
	}
}

// The files of earlier versions are taken over once and stay as they are.
func TestTakeFiles(t *testing.T) {
	dir := t.TempDir()
	j := record.New("job-a")
	must0(j.Set(record.Entry{Key: record.OwnerRef, Value: "A-1", Time: at}))
	must(t, archive.WriteJob(filepath.Join(dir, "job-a.job.json"), j))
	bad := filepath.Join(dir, "bad.job.json")
	must(t, os.WriteFile(bad, []byte("{"), 0o600))
	l := opened(t, dir)
	f, err := l.TakeFiles("T-17")
	must(t, err)
	if f.Taken != 1 || len(f.Damaged) != 1 || !strings.HasPrefix(f.Damaged[0], "bad.job.json (") {
		t.Errorf("%+v", f)
	}
	s, err := l.State("job-a")
	must(t, err)
	if d := same(j, s.Job); d != "" {
		t.Error(d)
	}
	if f, _ = l.TakeFiles(""); f.Taken != 0 || len(f.Damaged) != 1 || len(f.Changed) != 0 {
		t.Errorf("a second time: %+v", f)
	}
	if kept, err := archive.ReadJob(filepath.Join(dir, "job-a.job.json")); err != nil || same(j, kept) != "" {
		t.Error("the file is another", err)
	}
	must0(j.Set(record.Entry{Key: record.OwnerRef, Value: "A-2 longer", Time: at}))
	must(t, archive.WriteJob(filepath.Join(dir, "job-a.job.json"), j))
	if f, _ = l.TakeFiles(""); len(f.Changed) != 1 {
		t.Errorf("changed elsewhere: %+v", f)
	}
}

// A signature over a unit whose words hold signs that JSON may escape stands when the
// job is read again.
func TestSignedUnitReadAgain(t *testing.T) {
	j, err := record.Demo()
	must(t, err)
	u, err := plan.Drawn(j)
	must(t, err)
	u.Devices[0].Label = "fan & <relay>"
	must(t, j.TakeUnit(u.JSON()))
	must0(j.Set(record.Entry{Key: record.SignedBy, Value: "T-17", Time: at}))
	l := opened(t, t.TempDir())
	must(t, l.Save(j, ""))
	s, err := l.State(j.ID)
	must(t, err)
	if sig, ok := s.Job.Signed(); !ok || !sig.Stands {
		t.Errorf("%v, changed: %v", ok, sig.Since)
	}
}

// A list of many jobs is read once: what nothing happened to is not folded again.
func BenchmarkList(b *testing.B) {
	l := opened(b, b.TempDir())
	demo, err := record.Demo()
	must(b, err)
	for i := range 300 {
		demo.ID = "job-" + strconv.Itoa(i)
		must(b, l.Save(demo, "T-17"))
	}
	clear(l.states)
	b.Run("first", func(b *testing.B) {
		for b.Loop() {
			clear(l.heads)
			_, err := l.List("", false)
			must(b, err)
		}
	})
	b.Run("again", func(b *testing.B) {
		for b.Loop() {
			list, err := l.List("open", false)
			must(b, err)
			if len(list) == 0 {
				b.Fatal("none found")
			}
		}
	})
}
