#!/usr/bin/env python3
"""Hands each alert of Rattlewatch to a program that sends a text message or rings somebody.

    WEBHOOK_SECRET=whsec_... python3 webhook_to_sms.py PORT PROGRAM [ARGUMENT ...]

The program gets one line on its standard input (at most 160 characters) and ends with 0 when the
message was taken. It is called once for each alert, however often the alert is sent: messages that
come again have the same webhook-id. Standard library only. The signature is checked as the Standard
Webhooks specification 1.0 says: HMAC-SHA-256 over "id.timestamp.body".
"""
import base64
import hashlib
import hmac
import http.server
import json
import os
import subprocess
import sys
import time

KEY = base64.b64decode(os.environ["WEBHOOK_SECRET"].removeprefix("whsec_"))
TOLERANCE_S = int(os.environ.get("WEBHOOK_TOLERANCE_S", "300"))
PORT, PROGRAM = int(sys.argv[1]), sys.argv[2:]
taken = set()


def is_ours(headers, body):
    name, at, claimed = (headers.get("webhook-" + h, "") for h in ("id", "timestamp", "signature"))
    if not at.isdigit() or abs(time.time() - int(at)) > TOLERANCE_S:
        return False
    digest = hmac.new(KEY, f"{name}.{at}.".encode() + body, hashlib.sha256).digest()
    good = "v1," + base64.b64encode(digest).decode()
    return any(hmac.compare_digest(good, one) for one in claimed.split(" "))


class Receiver(http.server.BaseHTTPRequestHandler):
    def do_POST(self):
        body = self.rfile.read(min(int(self.headers.get("content-length", 0)), 65536))
        if not is_ours(self.headers, body):
            return self.answer(401)
        name = self.headers["webhook-id"]
        if name not in taken:
            message = json.loads(body)
            text = message["data"].get("says", message["type"])[:160]
            if subprocess.run(PROGRAM, input=text + "\n", text=True).returncode != 0:
                return self.answer(503)  # Rattlewatch tries again
            taken.add(name)
        self.answer(204)

    def answer(self, status):
        self.send_response(status)
        self.send_header("content-length", "0")
        self.end_headers()

    def log_message(self, *_):
        pass


http.server.HTTPServer(("127.0.0.1", PORT), Receiver).serve_forever()
