package store

// CursorOf is cursorOf.
func CursorOf(list string, keys ...string) string { return cursorOf(list, keys...) }

// ParseCursor is parseCursor.
func ParseCursor(list, cursor string, n int) ([]string, error) { return parseCursor(list, cursor, n) }
