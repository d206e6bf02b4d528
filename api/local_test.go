package api

import (
	"testing"

	"withybed/models"
)

func TestCheckListen(t *testing.T) {
	for addr, reachable := range map[string]bool{
		"127.0.0.1:8080": false, "localhost:0": false, "[::1]:65535": false, "127.9.9.9:80": false,
		":8080": true, "0.0.0.0:8080": true, "[::]:8080": true, "192.168.1.4:80": true,
		"nursery.example:80": true, "localhost.example:80": true,
	} {
		if got, err := CheckListen(addr); err != nil || got != reachable {
			t.Errorf("%s: %v, %v", addr, got, err)
		}
	}
	for _, addr := range []string{"", "8080", "127.0.0.1", "127.0.0.1:web", "127.0.0.1:70000"} {
		if _, err := CheckListen(addr); models.AsError(err) == nil || models.AsError(err).Code != "bad-address" {
			t.Errorf("%s: %v", addr, err)
		}
	}
}

func FuzzCheckListen(f *testing.F) {
	f.Add("127.0.0.1:8080")
	f.Add("[::1%eth0]:1")
	f.Fuzz(func(t *testing.T, addr string) {
		if _, err := CheckListen(addr); err != nil && models.AsError(err) == nil {
			t.Fatalf("%q: %v", addr, err)
		}
	})
}
