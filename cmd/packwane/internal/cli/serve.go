package cli

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"os/signal"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"packwane/cmd/packwane/internal/web"
	"packwane/store"
)

// serving says where and how to serve the page.
type serving struct {
	listen    string
	cert, key string
	pair      bool
}

// servePort is where the page is unless --listen says otherwise.
const servePort = "8737"

func newServe(a *app) *cobra.Command {
	var how serving
	c := &cobra.Command{
		Use: "serve", Short: "Serve the log and its answers as a page, on this machine alone", GroupID: groupOther,
		Long: `Serves the same log and the same answers as a page in your browser, until it is
stopped with Ctrl-C. It works without script, on a phone as on a desk; with
script it also logs offline and sends what waited when it is reached again.

Without --listen the page is to be had on this machine alone, by whoever is
logged in on it (--pair asks for the link here too). With --listen it is to be
had on your network: a browser is then paired once, by the link that the
terminal shows. Without --tls-cert and --tls-key others on the network can read
along, and browsers do not log offline.

Other programs may use the log meanwhile: the page holds it only while it reads
or writes.`,
		Example: `  packwane serve
  packwane serve --listen 192.168.1.20:8737 --tls-cert page.pem \
      --tls-key page.key`,
		Args: between(0, 0),
		RunE: func(c *cobra.Command, _ []string) error {
			ctx, stop := signal.NotifyContext(c.Context(), syscall.SIGINT, syscall.SIGTERM)
			defer stop()
			return a.serve(ctx, how)
		},
	}
	f := c.Flags()
	f.StringVar(&how.listen, "listen", "127.0.0.1:"+servePort, "the `ADDRESS` to be reached at, with its port; port 0 takes a free one")
	f.StringVar(&how.cert, "tls-cert", "", "`FILE` of the certificate, PEM, with those that signed it")
	f.StringVar(&how.key, "tls-key", "", "`FILE` of the certificate's key, PEM")
	f.BoolVar(&how.pair, "pair", false, "pair browsers on this machine too")
	return c
}

// serve serves the page until ctx ends.
func (a *app) serve(ctx context.Context, how serving) error {
	if a.asOfFlag != "" {
		return wrong("--as-of %q: the page looks at the log as it is now", a.asOfFlag)
	}
	a.hurried = true // a request is answered within a second, if only with who holds the store
	if err := a.read(nothing); err != nil && !isAny(err, errNoLog, store.ErrNoStore) {
		return err
	}
	secure, names, err := how.certificate()
	if err != nil {
		return err
	}
	host, address, err := how.address()
	if err != nil {
		return err
	}
	l, err := new(net.ListenConfig).Listen(ctx, "tcp", address)
	if err != nil {
		return failed("cannot listen on %s: %w; want an address of this machine and a free port, such as --listen 127.0.0.1:0", address, plainNet(err))
	}
	defer l.Close()
	at := l.Addr().(*net.TCPAddr)
	if host != "" && net.ParseIP(host) == nil && host != "localhost" {
		names = append(names, strings.ToLower(host))
	}
	doc := serveJSON{URL: pageURL(host, at, secure != nil)}
	pair := how.pair || !at.IP.IsLoopback()
	first := true
	show := func(path string) {
		link := strings.TrimSuffix(doc.URL, "/") + path
		if first {
			first, doc.Pair = false, link
			return
		}
		fmt.Fprintf(a.streams.Err, "Pair a browser, once, within half an hour: %s\n", link)
	}
	s := web.New(web.Config{
		Desk: desk{a, a.clock, keptFits()}, Clock: a.clock, Names: names, TLS: secure, Pair: pair, Link: show,
		Fault: func(err error) { fmt.Fprintf(a.streams.Err, "packwane: %s\n", oneLine(err.Error())) },
	})
	if err := a.showServing(doc, pair, secure != nil); err != nil {
		return err
	}
	if err := s.Serve(ctx, l); err != nil {
		return failed("the page has ended: %w", err)
	}
	return nil
}

// clock is the time of each request, in the zone of the call.
func (a *app) clock() time.Time { return time.Now().In(a.now.Location()) }

// serveJSON is the document of serve --json; it is printed once the page is
// there.
type serveJSON struct {
	URL  string `json:"url"`
	Pair string `json:"pair,omitempty"` // the one-time link for the first browser
}

func (a *app) showServing(doc serveJSON, pair, secure bool) error {
	if a.json {
		return a.printJSON(doc)
	}
	text := "The page is at " + doc.URL + "\n"
	if pair {
		text = "Pair a browser, once, within half an hour:\n  " + doc.Pair + "\n"
	}
	if pair && !secure {
		text += wrap("", "Plain http: others on this network can read along, and browsers do not log offline. --tls-cert and --tls-key change both.", a.streams.width())
	}
	_, err := fmt.Fprint(a.streams.Out, text, "Stop it with Ctrl-C.\n")
	return err
}

// address returns the host that --listen names and the address to listen on.
func (how serving) address() (host, address string, err error) {
	host, port, err := net.SplitHostPort(how.listen)
	if err != nil {
		host, port = strings.Trim(how.listen, "[]"), servePort
	}
	if n, err := strconv.Atoi(port); err != nil || n < 0 || n > 65535 || strings.ContainsAny(host, " /") {
		return "", "", wrong("--listen %q: want an address of this machine with a port, such as 127.0.0.1:%s or 192.168.1.20:%[2]s", how.listen, servePort)
	}
	return host, net.JoinHostPort(host, port), nil
}

// certificate loads the certificate; nil where none is given. The names in it
// are those that the page may be called by.
func (how serving) certificate() (*tls.Config, []string, error) {
	if how.cert == "" && how.key == "" {
		return nil, nil, nil
	}
	if how.cert == "" || how.key == "" {
		return nil, nil, wrong("--tls-cert and --tls-key go together: want both")
	}
	pair, err := tls.LoadX509KeyPair(how.cert, how.key)
	if err != nil {
		return nil, nil, wrong("--tls-cert %s, --tls-key %s: %w; want PEM files of a certificate and of its key", how.cert, how.key, plainPath(err))
	}
	var names []string
	for _, n := range pair.Leaf.DNSNames {
		names = append(names, strings.ToLower(n))
	}
	return &tls.Config{Certificates: []tls.Certificate{pair}, MinVersion: tls.VersionTLS12}, names, nil
}

// pageURL is how the page is reached: by the host that was named, else by the
// address that it listens on, else by one of the machine's own.
func pageURL(host string, at *net.TCPAddr, secure bool) string {
	if host == "" || net.ParseIP(host) != nil {
		host = at.IP.String()
	}
	if at.IP.IsUnspecified() {
		host = ownAddress()
	}
	scheme := "http://"
	if secure {
		scheme = "https://"
	}
	return scheme + net.JoinHostPort(host, strconv.Itoa(at.Port)) + "/"
}

// ownAddress is an address by which others on the network reach this machine.
func ownAddress() string {
	list, err := net.InterfaceAddrs()
	if err != nil {
		return "localhost"
	}
	for _, a := range list {
		if n, ok := a.(*net.IPNet); ok && n.IP.To4() != nil && n.IP.IsGlobalUnicast() {
			return n.IP.String()
		}
	}
	return "localhost"
}

// plainNet takes the operation and the address out of a network error.
func plainNet(err error) error {
	var op *net.OpError
	if errors.As(err, &op) {
		err = op.Err
	}
	var sys interface {
		error
		Unwrap() error
	}
	if errors.As(err, &sys) && sys.Unwrap() != nil {
		return sys.Unwrap()
	}
	return err
}
