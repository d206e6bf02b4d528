package api

import (
	"strconv"
	"unicode/utf16"
)

// halfCharacter is where JSON escapes one half of a surrogate pair without the
// other, or -1. Go would read it as a replacement character, and what is kept
// would not be what was sent.
func halfCharacter(data []byte) int {
	for i := 0; i < len(data); i++ {
		if data[i] != '\\' {
			continue
		}
		unit := escapedUnit(data[i:])
		switch {
		case !utf16.IsSurrogate(unit):
			i++ // past the escaped sign, which may be a backslash
		case i+6 <= len(data) && utf16.DecodeRune(unit, escapedUnit(data[i+6:])) != '\uFFFD':
			i += 11
		default:
			return i
		}
	}
	return -1
}

// escapedUnit is the UTF-16 unit of an escape \uXXXX at the start of data, and 0
// where there is none.
func escapedUnit(data []byte) rune {
	if len(data) < 6 || data[0] != '\\' || data[1] != 'u' {
		return 0
	}
	unit, _ := strconv.ParseUint(string(data[2:6]), 16, 16) // four digits in well-formed JSON
	return rune(unit)
}
