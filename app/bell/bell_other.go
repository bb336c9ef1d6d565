//go:build !windows

package bell

import "io"

func ring(w io.Writer, is bool) bool { return terminal(w, is) }
