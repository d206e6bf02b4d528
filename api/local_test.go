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

func TestParseProxies(t *testing.T) {
	for text, want := range map[string]int{"": 0, " , ": 0, "192.0.2.7": 1, "10.0.0.0/8, fd00::/8,::1": 3} {
		if got, err := ParseProxies(text); err != nil || len(got) != want {
			t.Errorf("%q: %v, %v", text, got, err)
		}
	}
	for _, text := range []string{"proxy.example", "10.0.0.0/99", "10.0.0.1:80", "10.0.0.0-10.0.0.9"} {
		if _, err := ParseProxies(text); models.AsError(err) == nil {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func FuzzParseProxies(f *testing.F) {
	f.Add("10.0.0.0/8, 192.0.2.7")
	f.Add("fe80::1%eth0")
	f.Fuzz(func(t *testing.T, text string) {
		proxies, err := ParseProxies(text)
		if err != nil && models.AsError(err) == nil {
			t.Fatalf("%q: %v", text, err)
		}
		for _, p := range proxies {
			if !p.IsValid() {
				t.Fatalf("%q gives %v", text, p)
			}
		}
	})
}
