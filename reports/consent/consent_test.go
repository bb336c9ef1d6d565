package consent

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"retrostage/reports/assess"
	"retrostage/reports/record"
)

func said(t *testing.T, j *record.Job) string {
	t.Helper()
	c, err := assess.New(j).Choices()
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprint(words(j, c))
}

// TestPage: what the issue asks of the page stands on it, for both invented jobs, on
// one sheet of either paper, the same bytes each time.
func TestPage(t *testing.T) {
	for _, c := range []struct {
		load  func() (*record.Job, error)
		wants []string
	}{
		{record.Demo, []string{"single-stage one goes in", "2,700", "change order", "altered", "second stage", "certified rating", "1 year on the new part", "no permit", "licence L-0000", "out of warranty"}},
		{record.SecondDemo, []string{"Outdoor unit and indoor coil are replaced", "9,900", "10 years", "A permit and an inspection are needed"}},
	} {
		j, err := c.load()
		if err != nil {
			t.Fatal(err)
		}
		text := said(t, j)
		for _, w := range c.wants {
			if !strings.Contains(text, w) {
				t.Errorf("%s: not on the page: %s\n%s", j.ID, w, text)
			}
		}
		for _, paper := range []string{"Letter", "A4"} {
			var a, b bytes.Buffer
			if err := Write(&a, assess.New(j), paper); err != nil {
				t.Fatal(err)
			}
			if err := Write(&b, assess.New(j), paper); err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) {
				t.Errorf("%s: another page of the same job (%v)", paper, err)
			}
			if n := bytes.Count(a.Bytes(), []byte("/Type /Page\n")); n != 1 {
				t.Errorf("%s: %d pages", paper, n)
			}
		}
	}
}

// TestNothingInvented: what is not settled is left to be filled in or asked, and what
// is not decided has no page.
func TestNothingInvented(t *testing.T) {
	j := &record.Job{ID: "empty"}
	if err := Write(&bytes.Buffer{}, assess.New(j), "A4"); err == nil {
		t.Error("a page for a job without a decision")
	}
	for _, d := range []string{"leave it", "convert to single stage"} {
		if err := j.Set(record.Entry{Key: record.Decision, Value: d}); err != nil {
			t.Fatal(err)
		}
		err := Write(&bytes.Buffer{}, assess.New(j), "A4")
		if (err == nil) != (d != "leave it") {
			t.Errorf("%s: %v", d, err)
		}
	}
	text := said(t, j)
	for _, w := range []string{"At most " + blank, "not settled", "not stated"} {
		if !strings.Contains(text, w) {
			t.Errorf("not said: %s\n%s", w, text)
		}
	}
}

// The mark is that of what the page says: the same for the same words, another for another
// ceiling, reason or decision.
func TestMark(t *testing.T) {
	mark := func(k record.Key, v string) string {
		j, err := record.Demo()
		if err != nil {
			t.Fatal(err)
		}
		if v != "" {
			if err := j.Set(record.Entry{Key: k, Value: v, Time: j.Entries[len(j.Entries)-1].Time}); err != nil {
				t.Fatal(err)
			}
		}
		m, err := Mark(assess.New(j))
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	was := mark(record.Key{}, "")
	if again := mark(record.RunningNote, "nothing of the page"); again != was {
		t.Errorf("%s, and %s of the same words", was, again)
	}
	for k, v := range map[record.Key]string{record.ConsentCeiling: "2900", record.DecisionReason: "The owner wants it so.", record.Decision: "same compressor"} {
		if mark(k, v) == was {
			t.Errorf("another %s, and the same mark", k)
		}
	}
}
