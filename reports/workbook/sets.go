package workbook

import (
	"fmt"
	"strings"

	"retrostage/reports/assess"
)

// sets are the sets of readings side by side, in blocks of four columns, as they were
// reckoned when the workbook was written: the sheet's own formulas are of the set that
// is handed over. There are none where the check was made once.
func (b *book) sets(p *page, row int) int {
	all := b.rep.Sets
	if len(all) == 0 {
		return row
	}
	row = p.heading(row, "The check repeated: sets of readings side by side")
	const wide = 4
	for from := 0; from < len(all); from += wide {
		part := all[from:min(from+wide, len(all))]
		top := row
		p.text(row, 1, head, "")
		p.text(row, 2, head, "Set of readings")
		for i, x := range part {
			h := fmt.Sprintf("%d", x.Number)
			if x.Handed {
				h += " (handed over)"
			}
			p.text(row, 3+i, head, h)
		}
		row++
		for _, key := range valuesOf(part) {
			p.text(row, 1, plain, "")
			for i, x := range part {
				for _, v := range x.Values {
					if v.Key != key || !v.Measured {
						continue
					}
					u := b.unit(v.Dim)
					name := strings.TrimSuffix(v.Label+", "+u.Label, ", ")
					p.text(row, 2, wrapped, name)
					words := fmt.Sprintf("%.*f ± %.*f", b.places(v.Dim), b.show(v.Dim, v.Value), b.places(v.Dim), u.Span(v.U))
					if v.Moved == assess.Up || v.Moved == assess.Down {
						words += ", " + string(v.Moved)
					}
					p.text(row, 3+i, wrapped, words)
					p.fit(row, 2, 2, name, wrapped)
				}
			}
			row++
		}
		p.together(top, row-1)
	}
	for _, x := range all {
		if x.Done != "" {
			row = p.pair(row, fmt.Sprintf("After set %d", x.Number), strings.TrimSuffix(x.Done+": "+x.Detail, ": ")+"; "+strings.TrimPrefix(strings.Join([]string{x.By, x.At}, ", "), ", "))
		}
	}
	return p.line(row, note, "Up and down are said where a value moved by more than the doubt of both sets together. What a change can have moved was read again after it.") + 1
}

// valuesOf are the findings measured in any of the sets, in their order.
func valuesOf(sets []assess.Set) (keys []string) {
	seen := map[string]bool{}
	for _, x := range sets {
		for _, v := range x.Values {
			if v.Measured && !seen[v.Key] {
				seen[v.Key] = true
				keys = append(keys, v.Key)
			}
		}
	}
	return keys
}
