"""``python -m condition.door --store DIR --address A --port N``: opens the door until standard input ends."""

from __future__ import annotations

import argparse
import sys
import threading

import uvicorn

from condition.door.app import door_app
from condition.flow.desk import open_desk
from condition.flow.phone import PHONE


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m condition.door")
    parser.add_argument("--store", required=True)
    parser.add_argument("--address", required=True)
    parser.add_argument("--port", type=int, required=True)
    args = parser.parse_args()
    host = f"[{args.address}]" if ":" in args.address else args.address
    server = uvicorn.Server(
        uvicorn.Config(
            door_app(open_desk(args.store, PHONE), f"{host}:{args.port}"),
            host=args.address,
            port=args.port,
            log_level="warning",
            access_log=False,
            server_header=False,
            limit_concurrency=64,
            timeout_graceful_shutdown=3,
        )
    )

    def shut_with_the_bench() -> None:
        sys.stdin.buffer.read()
        server.should_exit = True

    threading.Thread(target=shut_with_the_bench, daemon=True).start()
    server.run()


if __name__ == "__main__":
    main()
