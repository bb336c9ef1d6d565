package office

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"retrostage/assets/soak"
	"retrostage/reports/record"
	"retrostage/reports/store"
)

// network is an office behind a line that breaks before or after what was asked is done,
// and that brings things twice and in any order.
type network struct {
	*Office
	r   *rand.Rand
	bad int // of ten calls, how many go wrong
}

var errLine = errors.New("the line broke")

func (n network) breaks() bool { return n.r.IntN(20) < n.bad }

func (n network) Put(ctx context.Context, es []store.Event) ([]store.Aside, error) {
	if n.breaks() {
		return nil, errLine
	}
	if n.breaks() && len(es) > 1 { // half of it gets there
		es = es[:len(es)/2]
		if _, err := n.Office.Put(ctx, es); err != nil {
			return nil, err
		}
		return nil, errLine
	}
	n.r.Shuffle(len(es), func(i, k int) { es[i], es[k] = es[k], es[i] })
	refused, err := n.Office.Put(ctx, append(es, es[:n.r.IntN(len(es)+1)]...))
	if err == nil && n.breaks() { // done, and the answer is lost
		err = errLine
	}
	return refused, err
}

func (n network) Since(ctx context.Context, place string) ([]store.Event, string, error) {
	if n.breaks() {
		return nil, place, errLine
	}
	if n.breaks() {
		place = "" // all of it once more
	}
	es, next, err := n.Office.Since(ctx, place)
	n.r.Shuffle(len(es), func(i, k int) { es[i], es[k] = es[k], es[i] })
	if len(es) > 0 {
		es = append(es, es[n.r.IntN(len(es))])
	}
	return es, next, err
}

func (n network) PutPicture(ctx context.Context, hash, mime string, b []byte) error {
	if n.breaks() {
		return errLine
	}
	err := n.Office.PutPicture(ctx, hash, mime, b)
	if err == nil && n.breaks() {
		err = errLine
	}
	return err
}

// edit is one that the test made: what has to stand is judged without the store.
type edit struct {
	key   record.Key
	value string
	over  []int // edits of the field that the tablet had read before it
}

type tablet struct {
	l      *store.Local
	o      *Office
	who    string
	job    *record.Job
	loaded []int // edits that were in the job when it was read
}

func (b *tablet) load(t *rapid.T, made []edit) {
	j, err := b.l.Load("job-1")
	ok(t, err)
	b.job, b.loaded = j, nil
	for n, e := range made {
		if slices.ContainsFunc(j.Entries, func(x record.Entry) bool { return x.Key == e.key && x.Value == e.value }) {
			b.loaded = append(b.loaded, n)
		}
	}
}

func (b *tablet) edit(t *rapid.T, made []edit, key record.Key, days int) []edit {
	e := edit{key: key, value: fmt.Sprint(20 + len(made))}
	for _, n := range b.loaded {
		if made[n].key == key {
			e.over = append(e.over, n)
		}
	}
	ok(t, b.job.Set(record.Entry{Key: key, Value: e.value, Time: at.AddDate(0, 0, days), By: b.who}))
	ok(t, b.l.Save(b.job, b.who))
	b.loaded = append(b.loaded, len(made))
	return append(made, e)
}

func ok(t *rapid.T, err error) {
	if err != nil {
		t.Fatal(err)
	}
}

// Three tablets and one office on a PostgreSQL, apart in any way, with a line that breaks,
// doubles and mixes up, and clocks years off: they end up alike, nothing is lost, and what
// was typed apart is told, and only that.
func TestAnyOrder(t *testing.T) {
	as := server(t)
	cases := 0
	rapid.Check(t, func(t *rapid.T) {
		if cases++; cases > soak.Count(12, 150) { // each makes a database and three stores that sync
			return
		}
		name := fmt.Sprint("case", cases)
		ok(t, exec1(as("boss"), "CREATE DATABASE "+name))
		in := func(login string) string { return strings.Replace(as(login), "/postgres?", "/"+name+"?", 1) }
		ok(t, Install(context.Background(), in("boss")))
		ok(t, exec1(in("boss"), people))
		ctx := context.Background()
		var all []*tablet
		for _, p := range [][2]string{{"tech1", "T-1"}, {"tech2", "T-2"}, {"super1", "S-1"}} {
			dir, err := os.MkdirTemp("", "tablet-*")
			ok(t, err)
			defer os.RemoveAll(dir)
			l, err := store.Open(dir)
			ok(t, err)
			defer l.Close()
			o, err := Open(ctx, in(p[0]))
			ok(t, err)
			defer o.Close(ctx)
			all = append(all, &tablet{l: l, o: o, who: p[1]})
		}
		ok(t, all[0].l.Save(record.New("job-1"), all[0].who))
		for _, b := range all {
			_, err := b.l.ExchangeWith(ctx, b.o)
			ok(t, err)
			b.load(t, nil)
		}
		var made []edit
		keys := []record.Key{record.SuctionTemp, record.LiquidTemp, record.OutdoorTemp}
		for range rapid.IntRange(10, 30).Draw(t, "acts") {
			b := rapid.SampledFrom(all).Draw(t, "tablet")
			switch rapid.IntRange(0, 5).Draw(t, "act") {
			case 0, 1, 2:
				made = b.edit(t, made, rapid.SampledFrom(keys).Draw(t, "field"), rapid.IntRange(-900, 900).Draw(t, "clock"))
			case 3:
				b.load(t, made)
			default:
				n := network{b.o, rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "line"), 0)), rapid.IntRange(0, 6).Draw(t, "bad")}
				if x, err := b.l.ExchangeWith(ctx, n); err != nil && !errors.Is(err, errLine) || x.Refused > 0 {
					t.Fatalf("%v, %s", err, x)
				}
			}
		}
		for range 2 {
			for _, b := range all {
				if x, err := b.l.ExchangeWith(ctx, b.o); err != nil || x.Refused > 0 {
					t.Fatalf("%v, %s", err, x)
				}
			}
		}
		alike(t, all, made)
	})
	if cases < 10 {
		t.Errorf("only %d cases were tried", cases)
	}
}

func alike(t *rapid.T, all []*tablet, made []edit) {
	var want []byte
	for n, b := range all {
		s, err := b.l.State("job-1")
		ok(t, err)
		got, err := s.Job.Encode()
		ok(t, err)
		if n == 0 {
			want = got
		}
		if !bytes.Equal(got, want) || len(s.Aside) > 0 {
			t.Fatalf("tablet %d differs, set aside %v", n, s.Aside)
		}
		for _, e := range made {
			if !slices.ContainsFunc(s.Job.Entries, func(x record.Entry) bool { return x.Key == e.key && x.Value == e.value }) {
				t.Fatalf("tablet %d lost %v = %s", n, e.key, e.value)
			}
		}
		if len(s.Job.Entries) != len(made) {
			t.Fatalf("tablet %d has %d entries of %d", n, len(s.Job.Entries), len(made))
		}
		for key, told := range s.Apart() {
			var open []string
			for n, e := range made {
				if e.key == key && !slices.ContainsFunc(made, func(o edit) bool { return slices.Contains(o.over, n) }) {
					open = append(open, e.value+" F")
				}
			}
			slices.Sort(open)
			slices.Sort(told)
			if !slices.Equal(open, told) {
				t.Fatalf("%v: told %v, open are %v", key, told, open)
			}
		}
	}
	es, _, err := all[0].l.Events("job-1")
	ok(t, err)
	office, _, err := all[0].o.Since(context.Background(), "")
	ok(t, err)
	if len(office) != len(es) {
		t.Fatalf("the office has %d events of %d", len(office), len(es))
	}
}
