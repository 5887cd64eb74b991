package app

import (
	"net"
	"time"

	"golang.org/x/sys/unix"
)

// hush makes the kernel ignore new connections to a listener, and gives the
// server a moment to accept those that were complete before. Closing a
// listener with connections still in its queue resets them, and their clients
// see a failure; one that is ignored tries again a second later and finds
// nobody, or the next server. A listener that cannot be hushed is just closed.
func hush(l net.Listener) {
	tcp, ok := l.(*net.TCPListener)
	if !ok {
		return
	}
	raw, err := tcp.SyscallConn()
	if err != nil {
		return
	}
	// On a TCP socket the filter sees the segment from its header on; byte 13
	// has the flags (RFC 9293, section 3.1). Drop those with SYN and no ACK.
	const syn, ack, flags = 0x02, 0x10, 13
	filter := []unix.SockFilter{
		{Code: unix.BPF_LD | unix.BPF_B | unix.BPF_ABS, K: flags},
		{Code: unix.BPF_ALU | unix.BPF_AND | unix.BPF_K, K: syn | ack},
		{Code: unix.BPF_JMP | unix.BPF_JEQ | unix.BPF_K, K: syn, Jt: 0, Jf: 1},
		{Code: unix.BPF_RET | unix.BPF_K, K: 0},
		{Code: unix.BPF_RET | unix.BPF_K, K: 0xffffffff},
	}
	prog := unix.SockFprog{Len: uint16(len(filter)), Filter: &filter[0]}
	var set error
	err = raw.Control(func(fd uintptr) {
		set = unix.SetsockoptSockFprog(int(fd), unix.SOL_SOCKET, unix.SO_ATTACH_FILTER, &prog)
	})
	if err == nil && set == nil {
		time.Sleep(queueTime)
	}
}
