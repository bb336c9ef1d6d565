package office

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/jpeg"
	"math/rand/v2"
	"os"
	"slices"
	"sync"
	"testing"
	"time"

	"retrostage/assets/soak"
	"retrostage/reports/record"
	"retrostage/reports/store"
)

// timed is an office whose answers are timed. It has nothing to give, so that what is
// measured is tablets that send at once.
type timed struct {
	*Office
	mu            *sync.Mutex
	puts, photos  *[]time.Duration // an acknowledged packet; an acknowledged photo
	acknowledged  *int
	acknowledgedP *int
}

func (o timed) Since(context.Context, string) ([]store.Event, string, error) { return nil, "", nil }

func (o timed) Put(ctx context.Context, es []store.Event) ([]store.Aside, error) {
	was := time.Now()
	refused, err := o.Office.Put(ctx, es)
	o.mu.Lock()
	defer o.mu.Unlock()
	if *o.puts = append(*o.puts, time.Since(was)); err == nil {
		*o.acknowledged += len(es) - len(refused)
	}
	return refused, err
}

func (o timed) PutPicture(ctx context.Context, hash, mime string, b []byte) error {
	was := time.Now()
	err := o.Office.PutPicture(ctx, hash, mime, b)
	o.mu.Lock()
	defer o.mu.Unlock()
	if *o.photos = append(*o.photos, time.Since(was)); err == nil {
		*o.acknowledgedP++
	}
	return err
}

// noise is a photo of about 200 kB, another for every seed.
func noise(seed uint64) []byte {
	r := rand.New(rand.NewPCG(seed, 0))
	img := image.NewRGBA(image.Rect(0, 0, 505, 505))
	for i := range img.Pix {
		img.Pix[i] = uint8(r.Uint32())
	}
	var b bytes.Buffer
	jpeg.Encode(&b, img, &jpeg.Options{Quality: 85})
	return b.Bytes()
}

// A hundred tablets at once, 1,000 events each and a photo of 200 kB on one in fifty:
// nothing that was acknowledged is lost, and what was sent comes out again whole. The
// server syncs as it does in an office. Fewer in the usual run.
func TestManyTabletsAtOnce(t *testing.T) {
	as := serverWith(t, "-c max_connections=150")
	tablets, events := soak.Count(8, 100), soak.Count(100, 1000)
	ctx := context.Background()
	var all []*store.Local
	want, wantP := 0, 0
	size := 0
	for n := range tablets {
		dir, err := os.MkdirTemp("", "tablet-*")
		must(t, err)
		t.Cleanup(func() { os.RemoveAll(dir) })
		l, err := store.Open(dir)
		must(t, err)
		t.Cleanup(func() { l.Close() })
		j := record.New(fmt.Sprintf("job-tablet-%d", n))
		photos := events / 50
		for k := range events - photos - 1 { // beside the event that begins the job
			must(t, j.Set(record.Entry{Key: record.SuctionTemp, Value: fmt.Sprint(20 + k%60), Unit: "F", Time: at, By: "T-1", Again: true}))
		}
		must(t, l.Save(j, "T-1"))
		for k := range photos {
			b := noise(uint64(n*1000 + k))
			a, err := l.Attach(j.ID, "T-1", "plate.jpg", "intake", bytes.NewReader(b))
			must(t, err)
			size += a.Size
		}
		want, wantP = want+events, wantP+photos
		all = append(all, l)
	}
	var mu sync.Mutex
	var puts, photos []time.Duration
	var acknowledged, acknowledgedP int
	var wait sync.WaitGroup
	errs := make(chan error, tablets)
	begun := time.Now()
	for _, l := range all {
		wait.Add(1)
		go func() {
			defer wait.Done()
			o, err := Open(ctx, as("tech1"))
			if err != nil {
				errs <- err
				return
			}
			defer o.Close(ctx)
			if x, err := l.ExchangeWith(ctx, timed{o, &mu, &puts, &photos, &acknowledged, &acknowledgedP}); err != nil || x.Refused > 0 {
				errs <- fmt.Errorf("%w, %s", err, x)
			}
		}()
	}
	wait.Wait()
	took := time.Since(begun)
	close(errs)
	for err := range errs {
		t.Error(err)
	}
	if acknowledged != want || acknowledgedP != wantP {
		t.Errorf("%d events of %d and %d photos of %d were acknowledged", acknowledged, want, acknowledgedP, wantP)
	}
	t.Logf("%d tablets, %d events, %d photos of %d kB in the middle: %.1f s, %.0f events/s, %.1f MB of photos/s; a packet (up to 1,000 events) %s at the median, %s the 99th of a hundred; a photo %s and %s",
		tablets, want, wantP, size/max(1, wantP)/1000, took.Seconds(), float64(want)/took.Seconds(), float64(size)/1e6/took.Seconds(),
		part(puts, 0.5), part(puts, 0.99), part(photos, 0.5), part(photos, 0.99))
	// What the office has is what the tablets have, event by event and picture by picture.
	fresh := opened(t)
	begun = time.Now()
	x, err := fresh.ExchangeWith(ctx, office(t, as("super1")))
	must(t, err)
	t.Logf("a new tablet takes all of it: %.1f s, %s", time.Since(begun).Seconds(), x)
	if x.Taken != want || x.Pictures != wantP || x.Refused > 0 || x.Late > 0 {
		t.Errorf("%d events and %d photos sent, taken: %s", want, wantP, x)
	}
	for n, l := range all {
		job := fmt.Sprintf("job-tablet-%d", n)
		a, _, err := l.Events(job)
		must(t, err)
		b, _, err := fresh.Events(job)
		must(t, err)
		if !slices.EqualFunc(a, b, func(a, b store.Event) bool { return bytes.Equal(a.Sum(), b.Sum()) }) {
			t.Errorf("%s is another in the office", job)
		}
		s, err := fresh.State(job)
		must(t, err)
		if len(s.Attachments) != events/50 || len(s.Aside) > 0 || s.Sealed > 0 {
			t.Errorf("%s: %d photos, %d aside, %d sealed", job, len(s.Attachments), len(s.Aside), s.Sealed)
		}
		for _, p := range s.Attachments {
			if _, err := fresh.Picture(job, p); err != nil {
				t.Error(err)
			}
		}
	}
	var bytesOf, rows, index int64
	o := office(t, as("boss"))
	must(t, o.conn.QueryRow(ctx, "SELECT pg_table_size('retrostage.events'), count(*), pg_indexes_size('retrostage.events') FROM retrostage.events").Scan(&bytesOf, &rows, &index))
	t.Logf("in the office %.0f bytes an event and %.0f of indexes", float64(bytesOf)/float64(rows), float64(index)/float64(rows))
}

func part(d []time.Duration, p float64) time.Duration {
	if len(d) == 0 {
		return 0
	}
	slices.Sort(d)
	return d[min(len(d)-1, int(p*float64(len(d))))].Round(100 * time.Microsecond)
}
