package section

import (
	"context"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
)

// taskMarks are the shapes and tones of how a line of the list stands. Entered is no
// judgement and has no colour.
var taskMarks = map[assess.TaskStand]struct {
	glyph string
	tone  theme.Tone
}{
	assess.TaskMinded: {"caution", theme.Warning}, assess.TaskOpen: {"absent", theme.Muted}, assess.TaskPart: {"absent", theme.Muted}, assess.TaskEntered: {"unjudged", theme.Muted},
	assess.TaskWithin: {"within", theme.Good}, assess.TaskClose: {"close", theme.Warning}, assess.TaskOutside: {"outside", theme.Bad},
}

// workList is the step as a list in working order: what is done, what to mind while
// doing it, what the record has of it. A touch on a line tells more.
func workList(p *Pane) *Section {
	body := widget.NewColumn(6, 0)
	return newSection("work list", []fyne.CanvasObject{body}, Input.typed,
		func(_ context.Context, in Input) (rows []widget.TableRow) {
			r, err := in.Shown.Report()
			if err != nil {
				return nil
			}
			for _, t := range r.Tasks {
				if t.Step == p.Info.Step {
					rows = append(rows, taskRow(len(rows)+1, t))
				}
			}
			return rows
		},
		func(rows []widget.TableRow) {
			widget.Refill(body, func() {
				if len(rows) == 0 {
					return
				}
				body.Add(widget.NewHeading("In working order"))
				t := widget.NewTable([]string{"What is done", "", "The record"}, rows)
				t.OnResize = p.reflow
				body.Add(t)
				body.Add(widget.NewWords("Touch a line: what was entered of it, what is missing, where the caution comes from. The list reminds; it shows nothing to be safe.", theme.Small-0.5, false, theme.Muted))
			})
			p.reflow()
		}).alone()
}

func numbers(ns []int) string {
	var ws []string
	for _, n := range ns {
		ws = append(ws, strconv.Itoa(n))
	}
	return strings.Join(ws, ", ")
}

func taskRow(n int, t assess.Task) widget.TableRow {
	mark := taskMarks[t.Stand]
	row := widget.TableRow{Cells: []string{figureTo(float64(n), 0) + "  " + t.Title, "", Sentence(string(t.Stand))}, Glyph: mark.glyph, Tone: mark.tone, Small: t.Caution}
	var more []string
	if len(t.Before) > 0 { // green, and what comes before it is not
		more = append(more, "Before it in working order, and not entered whole: "+numbers(t.Before))
		row.Cells[2] += "; before it open: " + numbers(t.Before)
	}
	if t.Says != "" {
		more = append(more, "Entered: "+t.Says)
	}
	if len(t.Missing) > 0 && t.Stand != assess.TaskMinded {
		more = append(more, "Not entered: "+strings.Join(t.Missing, ", "))
	}
	if t.Finding != "" {
		more = append(more, t.Finding)
	}
	row.More = sentences(append(more, "Source: "+t.Source))
	return row
}
