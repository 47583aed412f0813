"""The page over HTTP as a browser, and as somebody who means harm, would ask for it. Run by ctest: serve.py PROGRAM MAP.

What is expected of the answers is what RFC 9110 (HTTP semantics: HEAD, 405 with Allow, 421) and Content Security Policy
Level 3 say; the code for a camera is read by zbar, another program."""

import http.client
import os
import re
import signal
import socket
import subprocess
import sys
import tempfile
import unittest

PROGRAM, MAP = sys.argv[1], sys.argv[2]
PAGE = ('<html><head><style nonce="none">a {}</style></head><body><!-- place of what is carried -->'
        '<script id="program" nonce="none">1</script></body></html>')
FILES = {"index.html": PAGE, "boltwalk.wasm": "\0asm" * 50000, "manifest.webmanifest": "{}", "icon.svg": "<svg/>",
         "offline.js": "const VERSION = 'boltwalk 12';\nconst FILES = ['./', 'icon.svg','index.html','maps/a b.glb','maps/c.glb',];\n"}


def free_port():
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


def page_folder():
    folder = tempfile.TemporaryDirectory()
    for name, text in FILES.items():
        with open(os.path.join(folder.name, name), "w", encoding="utf-8", newline="") as file:
            file.write(text)
    return folder


class Served:
    """The program serving, until the with ends."""

    def __init__(self, *more):
        self.port = free_port()
        self.folder = page_folder()
        self.process = subprocess.Popen([PROGRAM, "serve", MAP, "--built", self.folder.name, "--port", str(self.port), *more],
                                        stdout=subprocess.PIPE, text=True)
        self.said = []
        for line in self.process.stdout:
            self.said.append(line)
            if line.startswith("End it"):
                break
        self.addresses = [line.strip() for line in self.said if line.startswith("http://")]
        self.code = self.addresses[0].rstrip("/").split("/")[-1] if self.addresses else ""

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.process.send_signal(signal.SIGINT)
        self.ended = self.process.wait(10)
        self.process.stdout.close()
        self.folder.cleanup()

    def ask(self, path="", method="GET", host=None, to="127.0.0.1", whole=None, **headings):
        connection = http.client.HTTPConnection(to, self.port, timeout=5)
        connection.putrequest(method, f"/{self.code}/{path}" if whole is None else whole, skip_host=True)
        connection.putheader("Host", f"127.0.0.1:{self.port}" if host is None else host)
        for name, value in headings.items():
            connection.putheader(name.replace("_", "-"), value)
        connection.endheaders()
        answer = connection.getresponse()
        answer.text = answer.read()
        connection.close()
        return answer

    def raw(self, request):
        """What comes back before anything more is sent, and whether the other side then hangs up."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=5) as line:
            line.sendall(request.encode())
            got = b""
            try:
                while part := line.recv(65536):
                    got += part
            except ConnectionResetError:
                pass
            return got.decode("latin-1")


class Serving(unittest.TestCase):
    def test_the_page_and_its_files(self):
        with Served() as served:
            self.assertRegex(served.code, r"^[0-9a-f]{32}$")
            page = served.ask()
            self.assertEqual(page.status, 200)
            self.assertEqual(page.headers["Content-Type"], "text/html; charset=utf-8")
            self.assertEqual(page.headers["Referrer-Policy"], "no-referrer")
            self.assertEqual(page.headers["X-Content-Type-Options"], "nosniff")
            self.assertIn(b'class="carried-map"', page.text)
            self.assertEqual(served.ask("boltwalk.wasm").text.decode(), FILES["boltwalk.wasm"])
            self.assertEqual(served.ask("boltwalk.wasm").headers["Content-Type"], "application/wasm")
            for name in ("manifest.webmanifest", "icon.svg"):
                self.assertEqual(served.ask(name).text.decode(), FILES[name])
            self.assertRegex(served.ask("offline.js").text.decode(),
                             r"^const VERSION = 'boltwalk [0-9a-f]{8} 12';\nconst FILES = \['./', 'icon.svg',\];\n$")
        self.assertEqual(served.ended, 0)

    def test_only_its_own_scripts_are_allowed(self):
        with Served() as served:
            marks = []
            for _ in range(2):
                page = served.ask()
                policy = page.headers["Content-Security-Policy"]
                self.assertIn("default-src 'none'", policy)
                self.assertNotIn("unsafe-inline", policy)
                mark = re.search(r"script-src 'nonce-([0-9a-f]{32})'", policy).group(1)
                text = page.text.decode()
                self.assertEqual(text.count(f'nonce="{mark}"'), 3)  # style, what is carried, the program
                self.assertNotIn('nonce="none"', text)
                marks.append(mark)
            self.assertNotEqual(*marks)

    def test_head_says_what_get_would(self):
        with Served() as served:
            head, get = served.ask("boltwalk.wasm", "HEAD"), served.ask("boltwalk.wasm")
            self.assertEqual((head.status, head.text), (200, b""))
            self.assertEqual(head.headers["Content-Length"], get.headers["Content-Length"])

    def test_what_is_not_on_the_list_is_not_there(self):
        with Served() as served:
            for path in ("index.html", "../", "..%2f..%2fetc/passwd", "%69con.svg", "icon.svg/", "icon.svg?x/../", "./",
                         "boltwalk.wasm%00", "//", "maps/water_pump.glb"):
                expected = 200 if path == "icon.svg?x/../" else 404  # what follows a question mark is no part of the path
                self.assertEqual(served.ask(path).status, expected, path)
            self.assertEqual(served.ask(whole="/").status, 404)
            self.assertEqual(served.ask(whole=f"/{served.code}").status, 404)
            wrong = ("0" if served.code[0] != "0" else "1") + served.code[1:]
            self.assertEqual(served.ask(whole=f"/{wrong}/").status, 404)
            self.assertNotIn(served.code.encode(), served.ask(whole="/").text)

    def test_a_host_that_is_not_this_machine_gets_nothing(self):
        with Served() as served:
            self.assertEqual(served.ask(host=f"localhost:{served.port}").status, 200)
            for host in ("", "127.0.0.1", f"example.org:{served.port}", f"127.0.0.1:{served.port + 1}",
                         f"127.0.0.1.example.org:{served.port}", f"LOCALHOST.:{served.port}"):
                self.assertIn(served.ask(host=host).status, (400, 421), host)
            twice = served.raw(f"GET /{served.code}/ HTTP/1.1\r\nHost: 127.0.0.1:{served.port}\r\nHost: example.org\r\n\r\n")
            self.assertRegex(twice, r"^HTTP/1.1 4\d\d ")

    def test_other_methods_and_bodies_are_refused_before_the_body_comes(self):
        with Served() as served:
            host = f"Host: 127.0.0.1:{served.port}\r\n"
            for method in ("POST", "PUT", "DELETE", "OPTIONS", "PATCH", "TRACE", "CONNECT", "get", "ANYTHING"):
                # Not one byte of the body is sent: an answer comes, and the line is closed.
                answer = served.raw(f"{method} /{served.code}/ HTTP/1.1\r\n{host}Content-Length: 1000000\r\n\r\n")
                self.assertTrue(answer.startswith("HTTP/1.1 405 "), method + ": " + answer[:60])
                self.assertIn("Allow: GET, HEAD", answer)
            for body in ("Content-Length: 1000000", "Transfer-Encoding: chunked"):
                answer = served.raw(f"GET /{served.code}/ HTTP/1.1\r\n{host}{body}\r\n\r\n")
                self.assertTrue(answer.startswith("HTTP/1.1 413 "), body + ": " + answer[:60])
            answer = served.raw(f"POST /{served.code}/ HTTP/1.1\r\n{host}Content-Length: 9\r\nExpect: 100-continue\r\n\r\n")
            self.assertTrue(answer.startswith("HTTP/1.1 405 "), "and is not told to go on: " + answer[:60])
            self.assertEqual(served.ask().status, 200)

    def test_nonsense_does_not_end_it(self):
        with Served() as served:
            for request in ("\r\n\r\n", "GET\r\n\r\n", "GET " + "a" * 100000 + " HTTP/1.1\r\n\r\n", "\0" * 500 + "\r\n\r\n",
                            "GET / HTTP/9.9\r\n\r\n", f"GET / HTTP/1.1\r\nHost: x\r\nContent-Length: -1\r\n\r\n",
                            "GET / HTTP/1.1\r\n" + "".join(f"H{i}: {'v' * 90}\r\n" for i in range(2000)) + "\r\n"):
                with socket.create_connection(("127.0.0.1", served.port), timeout=2) as line:
                    try:
                        line.sendall(request.encode("latin-1"))
                        line.shutdown(socket.SHUT_WR)
                        answer = line.recv(100)
                        self.assertFalse(answer.startswith(b"HTTP/1.1 2"), request[:30])
                    except OSError:
                        pass  # hung up on, or left to wait: no answer either
            self.assertEqual(served.ask().status, 200)

    def test_many_at_once_who_say_nothing_leave_room_when_they_go(self):
        with Served() as served:
            silent = [socket.create_connection(("127.0.0.1", served.port), timeout=5) for _ in range(60)]
            for one in silent:
                one.close()
            self.assertEqual(served.ask().status, 200)

    def test_only_this_machine_unless_asked(self):
        own = [address for address in subprocess.run(["hostname", "-I"], capture_output=True, text=True, check=True).stdout.split()
               if "." in address]
        with Served() as served:
            self.assertTrue(all(re.match(r"http://(127\.0\.0\.1|localhost):", one) for one in served.addresses))
            for address in own:
                with self.assertRaises(OSError):
                    socket.create_connection((address, served.port), timeout=2).close()
        if not own:
            with Served("--lan") as served:
                self.assertEqual(served.addresses, [])
            self.assertEqual(served.ended, 2)
            return
        with Served("--lan") as served:
            self.assertEqual(sorted(served.addresses), sorted(f"http://{one}:{served.port}/{served.code}/" for one in own))
            self.assertEqual(served.ask(to=own[0], host=f"{own[0]}:{served.port}").status, 200)
            self.assertEqual(served.ask(host="127.0.0.1:80").status, 421)

    def test_the_code_for_a_camera_is_the_address(self):
        with Served() as served:
            lines = [line.rstrip("\n") for line in served.said]
            first = next(i for i, line in enumerate(lines) if set(line) <= set(" ▀▄█") and i > len(served.addresses))
            rows = []
            for line in lines[first:]:
                if not set(line) <= set(" ▀▄█") or line == "":
                    break
                rows.append([c in "▀█" for c in line])
                rows.append([c in "▄█" for c in line])
            each = 8
            with tempfile.NamedTemporaryFile(suffix=".pgm") as picture:
                picture.write(f"P5 {len(rows[0]) * each} {len(rows) * each} 255\n".encode())
                for row in rows:
                    picture.write(b"".join((b"\0" if dark else b"\xff") * each for dark in row) * each)
                picture.flush()
                read = subprocess.run(["zbarimg", "--quiet", "--raw", picture.name], capture_output=True, text=True, check=True)
            self.assertEqual(read.stdout.strip(), served.addresses[0])

    def test_what_cannot_be_served_is_said(self):
        with Served() as served:
            second = subprocess.run([PROGRAM, "serve", MAP, "--built", served.folder.name, "--port", str(served.port)],
                                    capture_output=True, text=True, timeout=20, check=False)
            self.assertEqual(second.returncode, 2)
            self.assertIn(f"port {served.port} cannot be served on (Address already in use)", second.stderr)
            self.assertIn("--port N", second.stderr)
        missing = subprocess.run([PROGRAM, "serve", MAP, "--built", "nowhere"], capture_output=True, text=True, timeout=20, check=False)
        self.assertEqual(missing.returncode, 2)
        self.assertIn("viewer/web/build", missing.stderr)
        for port in ("0", "65536", "-1", "x"):
            self.assertEqual(subprocess.run([PROGRAM, "serve", MAP, "--port", port], capture_output=True, timeout=20, check=False).returncode, 64)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
