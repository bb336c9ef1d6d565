package archive

import "io/fs"

func umask() fs.FileMode { return 0 }
