package web

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"strconv"
	"time"
)

// Listen opens the port on the loopback address; 0 is any that is free.
func Listen(port int) (net.Listener, error) {
	l, err := net.Listen("tcp", net.JoinHostPort("127.0.0.1", strconv.Itoa(port)))
	if err != nil {
		return nil, fmt.Errorf("open port %d on this machine: %w; give another with --port", port, err)
	}
	return l, nil
}

// Serve answers on the listener until ctx ends, then lets what is under way
// finish for a short while. It closes the listener, not the Server's folder.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	server := server(s)
	server.RegisterOnShutdown(s.stop) // streams of events end
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(l) }()
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	grace, cancel := context.WithTimeout(context.Background(), 3*time.Second)
	defer cancel()
	if err := server.Shutdown(grace); err != nil {
		server.Close()
	}
	if err := <-ended; !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}
