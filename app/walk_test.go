package app

import (
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
)

// walk visits an object and everything drawn for it.
func walk(o fyne.CanvasObject, visit func(fyne.CanvasObject)) {
	if !o.Visible() {
		return
	}
	visit(o)
	switch o := o.(type) {
	case *fyne.Container:
		for _, c := range o.Objects {
			walk(c, visit)
		}
	case fyne.Widget:
		for _, c := range test.WidgetRenderer(o).Objects() {
			walk(c, visit)
		}
	}
}

func typeName(o fyne.CanvasObject) string { return fmt.Sprintf("%T", o) }
