package store

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/png"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"retrostage/assets/soak"
	"retrostage/reports/record"
)

// tablet is one with its own copy of the shared folder, as a program that synchronises
// folders keeps one on each machine.
type tablet struct {
	l      *Local
	dir    string
	shared string
	job    *record.Job // as its window has it
	knows  map[int]bool
	loaded map[int]bool // what it knew when the window read the job
}

// madeEdit is one that the test made: what it says is judged without the store.
type madeEdit struct {
	key   record.Key
	value string
	over  []int // edits of the field that the window had before it
}

func newTablet(t *rapid.T, dir string, n int) *tablet {
	b := &tablet{dir: filepath.Join(dir, fmt.Sprint("jobs", n)), shared: filepath.Join(dir, fmt.Sprint("shared", n)), knows: map[int]bool{}, loaded: map[int]bool{}}
	must0(os.MkdirAll(b.shared, 0o700))
	var err error
	b.l, err = Open(b.dir)
	must0(err)
	return b
}

func (b *tablet) load() {
	j, err := b.l.Load("job-1")
	must0(err)
	b.job, b.loaded = j, map[int]bool{}
	for n, yes := range b.knows {
		if yes {
			b.loaded[n] = true
		}
	}
}

// carry copies what one copy of the shared folder has into another: each file whole,
// or half, or twice, or not this time; never over what is whole.
func carry(t *rapid.T, from, to string, faults bool) {
	must0(filepath.WalkDir(from, func(path string, d fs.DirEntry, err error) error {
		must0(err)
		rel, _ := filepath.Rel(from, path)
		if d.IsDir() || strings.Contains(rel, " (1)") {
			return nil
		}
		b, err := os.ReadFile(path)
		must0(err)
		fate := 0
		if faults && filepath.Base(path) != exchangeMark {
			fate = rapid.IntRange(0, 4).Draw(t, "fate")
		}
		target := filepath.Join(to, rel)
		must0(os.MkdirAll(filepath.Dir(target), 0o700))
		if was, err := os.ReadFile(target); err == nil && len(was) >= len(b) {
			return nil
		}
		switch fate {
		case 1:
			return nil
		case 2:
			b = b[:len(b)/2]
		case 3:
			must0(os.WriteFile(strings.TrimSuffix(target, ".json")+" (1).json", b, 0o600))
		}
		return os.WriteFile(target, b, 0o600)
	}))
}

// Three tablets and an office through a shared folder that is late, half there and there
// twice, with clocks that are wrong: they end up alike, nothing is lost, and what was
// typed apart into one field is told, and only that.
func TestExchange(t *testing.T) {
	cases := 0
	rapid.Check(t, func(t *rapid.T) {
		if cases++; cases > soak.Count(15, 100) { // each opens four stores and syncs every step
			return
		}
		dir, err := os.MkdirTemp("", "store-*")
		must0(err)
		defer os.RemoveAll(dir)
		var all []*tablet
		for n := range 4 {
			b := newTablet(t, dir, n)
			defer func() { b.l.Close() }()
			all = append(all, b)
		}
		must0(all[0].l.Save(record.New("job-1"), ""))
		exchange(all[0])
		for _, b := range all[1:] {
			carry(t, all[0].shared, b.shared, false)
			exchange(b)
		}
		for _, b := range all {
			b.load()
		}
		made := typeApart(t, all)
		for range 2 { // the network is back, and everything gets through
			for _, a := range all {
				exchange(a)
				for _, b := range all {
					if a != b {
						carry(t, a.shared, b.shared, false)
					}
				}
			}
		}
		for _, b := range all {
			if x := exchange(b); x.Late > 0 || x.Refused > 0 {
				t.Fatalf("at the end: %s", x)
			}
			judge(t, b, all[0], made)
		}
	})
}

func exchange(b *tablet) Exchanged {
	x, err := b.l.Exchange(b.shared)
	must0(err)
	return x
}

// typeApart lets the tablets type, read again, exchange and carry in any order.
func typeApart(t *rapid.T, all []*tablet) (made []madeEdit) {
	keys := []record.Key{record.SuctionTemp, record.LiquidTemp, record.OutdoorTemp}
	for range rapid.IntRange(5, soak.Count(12, 60)).Draw(t, "acts") {
		b := rapid.SampledFrom(all).Draw(t, "tablet")
		switch rapid.IntRange(0, 5).Draw(t, "act") {
		case 0, 1, 2:
			e := madeEdit{key: rapid.SampledFrom(keys).Draw(t, "field"), value: fmt.Sprint(20 + len(made))}
			for n := range b.loaded {
				if made[n].key == e.key {
					e.over = append(e.over, n)
				}
			}
			clock := at.AddDate(0, 0, rapid.IntRange(-900, 900).Draw(t, "clock"))
			must0(b.job.Set(record.Entry{Key: e.key, Value: e.value, Time: clock}))
			must0(b.l.Save(b.job, ""))
			b.knows[len(made)], b.loaded[len(made)] = true, true
			made = append(made, e)
		case 3:
			b.load()
		case 4:
			exchange(b)
			b.learn(made)
		case 5:
			carry(t, b.shared, rapid.SampledFrom(all).Draw(t, "to").shared, true)
		}
	}
	return made
}

// learn is what of the edits has come to the tablet.
func (b *tablet) learn(made []madeEdit) {
	es, _, err := b.l.Events("job-1")
	must0(err)
	for n, e := range made {
		want := []byte(fmt.Sprintf("%q,\"value\":%q", e.key, e.value))
		b.knows[n] = slices.ContainsFunc(es, func(x Event) bool { return bytes.Contains(x.Payload, want) })
	}
}

func judge(t *rapid.T, b, first *tablet, made []madeEdit) {
	s, err := b.l.State("job-1")
	must0(err)
	f, err := first.l.State("job-1")
	must0(err)
	if d := same(f.Job, s.Job); d != "" || len(s.Aside) > 0 {
		t.Fatalf("they differ: %s, set aside: %v", d, s.Aside)
	}
	if len(s.Job.Entries) != len(made) {
		t.Fatalf("%d of %d edits are there", len(s.Job.Entries), len(made))
	}
	apart := s.Apart()
	for _, key := range []record.Key{record.SuctionTemp, record.LiquidTemp, record.OutdoorTemp} {
		var open []string
		for n, e := range made {
			over := slices.ContainsFunc(made, func(o madeEdit) bool { return slices.Contains(o.over, n) })
			if e.key == key && !over {
				open = append(open, e.value)
			}
		}
		if got := s.Job.Text(key); got != "" && !slices.Contains(open, got) {
			t.Fatalf("%v is %s, which was typed over; open are %v", key, got, open)
		}
		var told []string
		for _, v := range apart[key] {
			told = append(told, strings.Fields(v)[0])
		}
		slices.Sort(told)
		slices.Sort(open)
		if len(open) > 1 && !slices.Equal(told, open) || len(open) < 2 && len(told) > 0 {
			t.Fatalf("%v: told %v, open are %v", key, told, open)
		}
	}
}

// Whoever saw both says which it is, and then it is said no more.
func TestApartIsSettled(t *testing.T) {
	shared := t.TempDir()
	a, b := opened(t, t.TempDir()), opened(t, t.TempDir())
	j := record.New("job-1")
	must(t, a.Save(j, ""))
	both := func() {
		t.Helper()
		for range 2 {
			for _, l := range []*Local{a, b} {
				if _, err := l.Exchange(shared); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	both()
	k, err := b.Load("job-1")
	must(t, err)
	must0(j.Set(record.Entry{Key: record.SuctionTemp, Value: "50", Time: at}))
	must0(k.Set(record.Entry{Key: record.SuctionTemp, Value: "60", Time: at}))
	must0(k.Set(record.Entry{Key: record.OwnerRef, Value: "R-1", Time: at}))
	must0(j.Set(record.Entry{Key: record.OwnerRef, Value: "R-1", Time: at})) // the same apart is no question
	must(t, a.Save(j, ""))
	must(t, b.Save(k, ""))
	both()
	s, err := a.State("job-1")
	must(t, err)
	if got := s.Apart(); len(got) != 1 || len(got[record.SuctionTemp]) != 2 {
		t.Fatalf("%v", got)
	}
	// One that has not read the other's answers only his own.
	must0(j.Set(record.Entry{Key: record.SuctionTemp, Value: "51", Time: at}))
	must(t, a.Save(j, ""))
	if s, _ = a.State("job-1"); len(s.Apart()) != 1 {
		t.Error("it was settled by one who had not seen it")
	}
	j, err = a.Load("job-1")
	must(t, err)
	must0(j.Set(record.Entry{Key: record.SuctionTemp, Value: "60", Time: at, Again: true}))
	must(t, a.Save(j, ""))
	both()
	for _, l := range []*Local{a, b} {
		if s, _ := l.State("job-1"); len(s.Apart()) != 0 || s.Job.Text(record.SuctionTemp) != "60" {
			t.Errorf("%v, %s stands", s.Apart(), s.Job.Text(record.SuctionTemp))
		}
	}
}

// Instruments listed apart are both there, and so are the readings that name them.
func TestInstrumentsApart(t *testing.T) {
	shared := t.TempDir()
	a, b := opened(t, t.TempDir()), opened(t, t.TempDir())
	must(t, a.Save(record.New("job-1"), ""))
	for _, l := range []*Local{a, b} {
		if _, err := l.Exchange(shared); err != nil {
			t.Fatal(err)
		}
	}
	for i, l := range []*Local{a, b} {
		j, err := l.Load("job-1")
		must(t, err)
		id := fmt.Sprint("T", i)
		must0(j.TakeInstruments([]record.Instrument{{ID: id, Name: id, Accuracy: []record.Accuracy{}}}))
		must0(j.Set(record.Entry{Key: []record.Key{record.SuctionTemp, record.LiquidTemp}[i], Value: "55", Instrument: id, Time: at}))
		must(t, l.Save(j, ""))
	}
	for range 2 {
		for _, l := range []*Local{a, b} {
			if _, err := l.Exchange(shared); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, l := range []*Local{a, b} {
		s, err := l.State("job-1")
		must(t, err)
		if len(s.Job.Instruments) != 2 || len(s.Aside) != 0 || s.Job.Text(record.SuctionTemp) == "" || s.Job.Text(record.LiquidTemp) == "" {
			t.Errorf("%+v, set aside %v", s.Job.Instruments, s.Aside)
		}
	}
}

// Pictures go with the events; one that is not whole comes the next time, and a damaged
// packet is refused event by event and mended later.
func TestExchangePicturesAndDamage(t *testing.T) {
	shared := t.TempDir()
	a, b := opened(t, t.TempDir()), opened(t, t.TempDir())
	j := record.New("job-1")
	must0(j.Set(record.Entry{Key: record.OwnerRef, Value: "R-1 <&>", Time: at}))
	must(t, a.Save(j, ""))
	var img bytes.Buffer
	must(t, png.Encode(&img, image.NewRGBA(image.Rect(0, 0, 30, 20))))
	pic, err := a.Attach("job-1", "T-17", "plate.png", "", &img)
	must(t, err)
	x, err := a.Exchange(shared)
	must(t, err)
	if x.Sent == 0 || x.PicturesSent != 1 {
		t.Fatalf("%+v", x)
	}
	path := filepath.Join(shared, pictureDir, pic.Hash)
	whole, err := os.ReadFile(path)
	must(t, err)
	must(t, os.WriteFile(path, whole[:len(whole)/2], 0o600))
	packets, _ := filepath.Glob(filepath.Join(shared, "tablet-*", "*.json"))
	if len(packets) != 1 {
		t.Fatal(packets)
	}
	p, err := os.ReadFile(packets[0])
	must(t, err)
	must(t, os.WriteFile(packets[0], bytes.Replace(p, []byte(`"who":"T-17"`), []byte(`"who":"T-18"`), 1), 0o600))
	if x, err = b.Exchange(shared); err != nil || x.Refused != 1 || x.Taken == 0 {
		t.Fatalf("%+v, %v", x, err)
	}
	must(t, os.WriteFile(packets[0], p, 0o600))
	if x, err = b.Exchange(shared); err != nil || x.Refused != 0 || x.Taken != 1 || x.Late != 1 {
		t.Fatalf("mended: %+v, %v", x, err)
	}
	must(t, os.WriteFile(path, whole, 0o600))
	if x, err = b.Exchange(shared); err != nil || x.Pictures != 1 || x.Late != 0 {
		t.Fatalf("whole: %+v, %v", x, err)
	}
	if got, _, err := b.raw(pic.Hash); err != nil || len(got) != len(whole) {
		t.Error(err)
	}
	if x, err = b.Exchange(shared); err != nil || x.Taken+x.Sent+x.Had+x.Pictures+x.PicturesSent != 0 {
		t.Errorf("once more: %+v, %v", x, err)
	}
	s, err := b.State("job-1")
	must(t, err)
	if d := same(j, s.Job); d != "" {
		t.Error(d)
	}
	if _, err := a.Exchange(filepath.Join(shared, "nowhere")); err == nil {
		t.Error("a folder that is not there")
	}
}

// BenchmarkExchange sends and takes 100,000 events: by the event, for the ratio.
func BenchmarkExchange(b *testing.B) {
	for _, n := range []int{10_000, 100_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			var was time.Duration
			for b.Loop() {
				b.StopTimer()
				shared := b.TempDir()
				x, y := opened(b, b.TempDir()), opened(b, b.TempDir())
				for i := range n / 1000 {
					j := record.New(fmt.Sprint("job-", i))
					for k := range 998 {
						must0(j.Set(record.Entry{Key: record.SuctionTemp, Value: fmt.Sprint(20 + k%50), Time: at, Again: true}))
					}
					must(b, x.Save(j, ""))
				}
				was = soak.ProcessorTime()
				b.StartTimer()
				_, err := x.Exchange(shared)
				must(b, err)
				got, err := y.Exchange(shared)
				must(b, err)
				b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(got.Taken), "us/event")
				b.ReportMetric(float64((soak.ProcessorTime()-was).Microseconds())/float64(got.Taken), "us-cpu/event")
			}
		})
	}
}

// Saving goes on while an exchange is under way, and neither loses what the other did.
func TestSavedDuringExchange(t *testing.T) {
	shared := t.TempDir()
	a, b := opened(t, t.TempDir()), opened(t, t.TempDir())
	j := record.New("job-1")
	must(t, a.Save(j, ""))
	_, err := a.Exchange(shared)
	must(t, err)
	_, err = b.Exchange(shared)
	must(t, err)
	k, err := b.Load("job-1")
	must(t, err)
	const edits = 60
	done := make(chan error)
	go func() {
		var err error
		for range 20 {
			_, e := a.Exchange(shared)
			_, f := b.Exchange(shared)
			err = errors.Join(err, e, f)
		}
		done <- err
	}()
	for n := range edits {
		must0(j.Set(record.Entry{Key: record.SuctionTemp, Value: fmt.Sprint(20 + n), Time: at}))
		must(t, a.Save(j, ""))
		must0(k.Set(record.Entry{Key: record.LiquidTemp, Value: fmt.Sprint(20 + n), Time: at}))
		must(t, b.Save(k, ""))
	}
	must(t, <-done)
	for range 2 {
		for _, l := range []*Local{a, b} {
			_, err := l.Exchange(shared)
			must(t, err)
		}
	}
	for _, l := range []*Local{a, b} {
		s, err := l.State("job-1")
		must(t, err)
		if len(s.Job.Entries) != 2*edits || len(s.Aside) > 0 || len(s.Apart()) > 0 {
			t.Errorf("%d entries of %d, set aside %v, apart %v", len(s.Job.Entries), 2*edits, s.Aside, s.Apart())
		}
	}
}
