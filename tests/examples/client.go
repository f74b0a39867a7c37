// A whole client in Go: it receives kit, checks a job, logs it with retries and watches the book.
//
//	client HOST:PORT CA_FILE TOKEN JOB
//
// CA_FILE is the certificate that the shop's devices hold on to, TOKEN that of a device of role work. The package
// fettlebook/v1 is what protoc makes of the .proto files; tests/suite/examples.rs says with which options.
package main

import (
	"context"
	"crypto/rand"
	"fmt"
	"log"
	"os"
	"time"

	pb "fettlebook/v1"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials"
	"google.golang.org/grpc/status"
)

// The token goes with each call, and over TLS alone.
type bearer string

func (bearer) RequireTransportSecurity() bool { return true }
func (token bearer) GetRequestMetadata(context.Context, ...string) (map[string]string, error) {
	return map[string]string{"authorization": "Bearer " + string(token)}, nil
}

func must[T any](value T, err error) T {
	if err != nil {
		log.Fatal(err)
	}
	return value
}

// The id of a request: a UUID of chance.
func newID() string {
	var id [16]byte
	must(rand.Read(id[:]))
	id[6], id[8] = id[6]&0x0f|0x40, id[8]&0x3f|0x80
	return fmt.Sprintf("%x-%x-%x-%x-%x", id[:4], id[4:6], id[6:8], id[8:10], id[10:])
}

// Sends a deed until it is answered: again where nothing was, or where the service said to come back. It has one
// request id, so it counts once however often it goes.
func record[R any, A interface{ GetEntry() *pb.Entry }](call func(context.Context, R, ...grpc.CallOption) (A, error), deed R, deadlines ...time.Duration) *pb.Entry {
	for try := 0; ; try++ {
		ctx, cancel := context.WithTimeout(context.Background(), deadlines[try])
		answer, err := call(ctx, deed)
		cancel()
		code := status.Code(err)
		again := code == codes.Unavailable || code == codes.DeadlineExceeded || code == codes.ResourceExhausted
		if !again || try+1 == len(deadlines) {
			return must(answer, err).GetEntry()
		}
		time.Sleep(100 * time.Millisecond << try)
	}
}

func main() {
	address, ca, token, job, all := os.Args[1], os.Args[2], os.Args[3], os.Args[4], context.Background()
	sealed := grpc.WithTransportCredentials(must(credentials.NewClientTLSFromFile(ca, "")))
	shop := must(grpc.Dial(address, sealed, grpc.WithPerRPCCredentials(bearer(token))))
	kits, jobs, books := pb.NewKitServiceClient(shop), pb.NewJobServiceClient(shop), pb.NewBookServiceClient(shop)
	seen := must(books.GetBook(all, &pb.GetBookRequest{})).HeadSeq
	received := record(kits.ReceiveKit, &pb.ReceiveKitRequest{RequestId: newID(), Make: "coarse-foam-150", PieceCount: 2}, 5*time.Second, 10*time.Second)
	fmt.Println("check:", must(jobs.CheckJobs(all, &pb.CheckJobsRequest{Jobs: []string{job}})).Checks[0].Verdict)
	// The first try has a millisecond, so that its answer is lost.
	logged := record(jobs.LogUse, &pb.LogUseRequest{RequestId: newID(), Job: job}, time.Millisecond, 10*time.Second, 20*time.Second)
	for _, entry := range []*pb.Entry{received, logged} {
		// Whatever breaks a watch off, here after each entry, the next one goes on after the last that came.
		stream := must(books.WatchEntries(all, &pb.WatchEntriesRequest{AfterSeq: seen}))
		seen = must(stream.Recv()).Entry.Seq
		fmt.Println("watched", seen, seen == entry.Seq)
	}
}
