package app

import (
	"testing"

	"retrostage/app/widget"
	"retrostage/app/words"
	"retrostage/reports/record"
)

// The keys of a chart lie over no part of its name, at any size and in any language.
func TestKeysLeaveTheNameOfAChart(t *testing.T) {
	b, w := bench(t, demoJob(t))
	seen := map[record.Step]int{}
	for _, lang := range []string{words.English, "es"} {
		b.SetLanguage(lang, ".")
		t.Cleanup(func() { words.Use(words.English, ".") })
		for _, size := range sizes {
			w.Resize(size)
			for i, info := range record.Steps {
				b.Go(i)
				if b.pane().Middle == nil {
					continue
				}
				for _, v := range visible[*widget.View](b.pane().Middle) {
					right, high, keys := v.Named()
					if right == 0 {
						continue
					}
					seen[info.Step]++
					if right > keys || high > 56 {
						t.Errorf("%s, %s at %v: the name reaches %.0f to the right, %.0f up; the keys begin at %.0f", lang, info.Step, size, right, high, keys)
					}
				}
			}
		}
	}
	if seen[record.Match] == 0 || seen[record.Running] == 0 {
		t.Errorf("charts seen: %v", seen)
	}
}
