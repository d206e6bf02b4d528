package cli

import "testing"

func TestInTheOpen(t *testing.T) {
	for base, want := range map[string]bool{
		"http://withybed.wrenlow.example": true, "http://192.0.2.7:8347": true, "http://[2001:db8::1]:8347/": true, "http://:8347": true,
		"https://withybed.wrenlow.example": false, "http://127.0.0.1:8347": false, "http://localhost:8347": false, "http://[::1]": false,
	} {
		if got := inTheOpen(base); got != want {
			t.Errorf("%s: %v", base, got)
		}
	}
}
