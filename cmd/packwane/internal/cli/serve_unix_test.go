//go:build unix

package cli

import (
	"bufio"
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/json"
	"encoding/pem"
	"io"
	"math/big"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// served is a running `packwane serve`.
type served struct {
	URL, Pair string
	status    chan int
}

// startServe runs serve --json and waits until it says where the page is.
func startServe(t *testing.T, args ...string) *served {
	t.Helper()
	r, w := io.Pipe()
	s := &served{status: make(chan int, 1)}
	var errs bytes.Buffer
	streams := Streams{In: strings.NewReader(""), Out: w, Err: &errs, Getenv: func(string) string { return "" }}
	args = append([]string{"--store", filepath.Join(t.TempDir(), "log.store"), "serve", "--json", "--listen", "127.0.0.1:0"}, args...)
	go func() {
		s.status <- Main(args, streams, time.Now)
		w.Close()
	}()
	if err := json.NewDecoder(bufio.NewReader(r)).Decode(s); err != nil {
		t.Fatalf("%v; it says %s and ends with %d", err, errs.String(), <-s.status)
	}
	go io.Copy(io.Discard, r)
	return s
}

// end sends a signal, as a terminal or a service manager does, and waits.
func (s *served) end(t *testing.T, signal syscall.Signal) {
	t.Helper()
	if err := syscall.Kill(os.Getpid(), signal); err != nil {
		t.Fatal(err)
	}
	if status := <-s.status; status != statusDone {
		t.Errorf("after %v it ends with %d, want %d", signal, status, statusDone)
	}
}

// TestServeEndsBySignal: both signals end it gracefully.
func TestServeEndsBySignal(t *testing.T) {
	for _, signal := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM} {
		s := startServe(t)
		if s.Pair != "" || !strings.HasPrefix(s.URL, "http://127.0.0.1:") {
			t.Errorf("on this machine alone it says %+v", s)
		}
		out, err := http.Get(s.URL)
		if err != nil {
			t.Fatal(err)
		}
		body, _ := io.ReadAll(out.Body)
		out.Body.Close()
		if out.StatusCode != 200 || !strings.Contains(string(body), "Nothing is logged yet") {
			t.Errorf("status %d: %s", out.StatusCode, body)
		}
		http.DefaultClient.CloseIdleConnections()
		s.end(t, signal)
		if _, err := http.Get(s.URL); err == nil {
			t.Error("it still answers")
		}
	}
}

// TestServePairs: with --pair nothing is seen before the link is used.
func TestServePairs(t *testing.T) {
	s := startServe(t, "--pair")
	defer s.end(t, syscall.SIGTERM)
	if !strings.HasPrefix(s.Pair, s.URL+"pair/") {
		t.Fatalf("the link is %q", s.Pair)
	}
	for url, want := range map[string]int{s.URL: 401, s.Pair: 200} {
		out, err := http.Get(url)
		if err != nil {
			t.Fatal(err)
		}
		out.Body.Close()
		if out.StatusCode != want {
			t.Errorf("%s gives %d, want %d", url, out.StatusCode, want)
		}
	}
	http.DefaultClient.CloseIdleConnections()
}

// certificate writes a certificate for a name, with its key, to files.
func certificate(t *testing.T, name string) (cert, key string, pool *x509.CertPool) {
	t.Helper()
	private, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	c := &x509.Certificate{
		SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: name}, DNSNames: []string{name}, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign,
	}
	der, err := x509.CreateCertificate(rand.Reader, c, c, &private.PublicKey, private)
	if err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(private)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	cert, key = filepath.Join(dir, "page.pem"), filepath.Join(dir, "page.key")
	for file, block := range map[string]*pem.Block{cert: {Type: "CERTIFICATE", Bytes: der}, key: {Type: "PRIVATE KEY", Bytes: secret}} {
		if err := os.WriteFile(file, pem.EncodeToMemory(block), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	pool = x509.NewCertPool()
	parsed, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	pool.AddCert(parsed)
	return cert, key, pool
}

// TestServeTLS: with a certificate the page is encrypted, and answers to the
// certificate's names.
func TestServeTLS(t *testing.T) {
	cert, key, pool := certificate(t, "board.example")
	s := startServe(t, "--tls-cert", cert, "--tls-key", key)
	defer s.end(t, syscall.SIGTERM)
	if !strings.HasPrefix(s.URL, "https://127.0.0.1:") {
		t.Fatalf("the page is at %s", s.URL)
	}
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}, ForceAttemptHTTP2: true}}
	defer client.CloseIdleConnections()
	for host, want := range map[string]int{"": 200, "board.example": 200, "other.example": 421} {
		req, err := http.NewRequest("GET", s.URL, nil)
		if err != nil {
			t.Fatal(err)
		}
		req.Host = host
		out, err := client.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		out.Body.Close()
		if out.StatusCode != want || out.ProtoMajor != 2 {
			t.Errorf("host %q: status %d by %s, want %d by HTTP/2", host, out.StatusCode, out.Proto, want)
		}
	}
}

// TestServeRefuses: a call that cannot be served says what is wrong, in one
// line, and touches nothing.
func TestServeRefuses(t *testing.T) {
	cert, key, _ := certificate(t, "board.example")
	busy, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer busy.Close()
	for _, x := range []struct {
		args   []string
		status int
		want   string
	}{
		{[]string{"--listen", "127.0.0.1:x"}, statusWrong, "--listen"},
		{[]string{"--listen", "127.0.0.1:70000"}, statusWrong, "--listen"},
		{[]string{"--listen", "http://127.0.0.1:80"}, statusWrong, "--listen"},
		{[]string{"--listen", busy.Addr().String()}, statusFailed, "address already in use"},
		{[]string{"--tls-cert", cert}, statusWrong, "go together"},
		{[]string{"--tls-key", key}, statusWrong, "go together"},
		{[]string{"--tls-cert", cert, "--tls-key", cert}, statusWrong, "--tls-cert"},
		{[]string{"--tls-cert", "none.pem", "--tls-key", key}, statusWrong, "no such file"},
		{[]string{"--as-of", "2026-05-03"}, statusWrong, "--as-of"},
		{[]string{"more"}, statusWrong, "one too many"},
	} {
		store := filepath.Join(t.TempDir(), "log.store")
		var out, errs bytes.Buffer
		streams := Streams{In: strings.NewReader(""), Out: &out, Err: &errs, Getenv: func(string) string { return "" }}
		status := Main(append([]string{"--store", store, "serve"}, x.args...), streams, time.Now)
		if status != x.status || !strings.Contains(errs.String(), x.want) || strings.Count(errs.String(), "\n") != 1 || out.Len() > 0 {
			t.Errorf("%q: status %d, %q; want %d and %q in one line", x.args, status, errs.String(), x.status, x.want)
		}
		if _, err := os.Stat(store); err == nil {
			t.Errorf("%q: it made a store", x.args)
		}
	}
}
