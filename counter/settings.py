"""Django settings. Deployment choices come from the environment, shop choices from the database.

The names of the environment variables are listed in README.md under "Configuration".
"""

from __future__ import annotations

from pathlib import Path

from counter.site import environment as env

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(env.text("DATA_DIR") or BASE_DIR / ".data")

DEBUG = env.flag("DEBUG")
HTTPS = env.flag("HTTPS")
ADMIN = env.flag("ADMIN")
SECRET_KEY = env.secret_key(DATA_DIR)
ALLOWED_HOSTS = env.words("HOSTS", "localhost,127.0.0.1,[::1]")
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS] if HTTPS else []

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_htmx",
    "rest_framework",
    "rest_framework.authtoken",
    "drf_spectacular",
    "axes",
    "tickets",
    "counter",
]

MIDDLEWARE = [
    "counter.site.middleware.ContentSecurityPolicyMiddleware",  # first, so that files get it too
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "counter.site.middleware.CompressionMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "counter.site.middleware.RoleMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "counter.urls"
WSGI_APPLICATION = "counter.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "counter.site.context.shop",
            ],
            # Pages are written in these parts, so each template has them.
            "builtins": ["tickets.templatetags.parts"],
        },
    }
]

DATABASES = {"default": env.database(DATA_DIR)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "counter.staff.signing_in.StaffBackend",
]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "login"

# A till is shared, so a wrong password locks the name and not the address.
AXES_LOCKOUT_PARAMETERS = ["username"]
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = 0.25
AXES_RESET_ON_SUCCESS = True
SILENCED_SYSTEM_CHECKS = ["axes.W006"]  # it wants addresses counted too, see above
AXES_LOCKOUT_TEMPLATE = "counter/staff/locked_out.html"

LOCALE_PATHS = [BASE_DIR / "counter" / "locale"]
LANGUAGES = env.translated(LOCALE_PATHS)
LANGUAGE_CODE = env.shop_language("LANGUAGE", LANGUAGES)
TIME_ZONE = env.time_zone("TIME_ZONE", "Europe/London")
USE_I18N = True
USE_TZ = True

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STATIC_ROOT.mkdir(parents=True, exist_ok=True)  # whitenoise warns where it is missing
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "counter.site.static_files.ShopStaticFilesStorage"},
}
WHITENOISE_USE_FINDERS = True
MEDIA_ROOT = DATA_DIR / "media"
MEDIA_URL = "media/"
DATA_UPLOAD_MAX_MEMORY_SIZE = 12 * 1024 * 1024
PHOTO_MAX_BYTES = 10 * 1024 * 1024
PHOTO_MAX_PIXELS = 40_000_000

EMAIL_HOST = env.text("EMAIL_HOST", "localhost")
EMAIL_PORT = env.whole_number("EMAIL_PORT", 25)
EMAIL_HOST_USER = env.text("EMAIL_USER")
EMAIL_HOST_PASSWORD = env.text("EMAIL_PASSWORD")
EMAIL_USE_TLS = env.flag("EMAIL_TLS")
EMAIL_TIMEOUT = 10
DEFAULT_FROM_EMAIL = env.text("EMAIL_FROM", "counter@example.org")
EMAIL_BACKEND = (
    "django.core.mail.backends.smtp.EmailBackend"
    if env.text("EMAIL_HOST")
    else "django.core.mail.backends.console.EmailBackend"
)

SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SESSION_COOKIE_HTTPONLY = True
CSRF_FAILURE_VIEW = "counter.site.trouble.old_page"
SESSION_COOKIE_AGE = 60 * 60 * 24 * 14
SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
SECURE_HSTS_PRELOAD = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if env.flag("BEHIND_PROXY") else None
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SECURE_CSP = {
    "default-src": ["'self'"],
    "img-src": ["'self'", "data:"],
    "object-src": ["'none'"],
    "base-uri": ["'none'"],
    "form-action": ["'self'"],
    "frame-ancestors": ["'none'"],
}

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        # The first one names the challenge of a 401 answer, and only the token has one.
        "counter.staff.signing_in.StaffTokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["counter.staff.permissions.RolePermission"],
    "DEFAULT_PAGINATION_CLASS": "counter.site.api_pages.Pages",
    "DEFAULT_PARSER_CLASSES": ["counter.site.api_parsing.BoundedJSONParser"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "EXCEPTION_HANDLER": "counter.site.api_errors.handle",
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Garment Counter",
    "DESCRIPTION": (
        "Tickets, pieces, scans, loads and station boards of one shop.\n\n"
        "Sign in with `Authorization: Token …` (see `token/`) or with the session of the pages "
        "and its CSRF token. 401 means nobody is signed in, 403 that the role may not do this.\n\n"
        "Every error has `code` for programs, `says` for what is wrong and `cure` for what to do; "
        "`fields` names each field at fault. A field or filter that is not known is an error.\n\n"
        "A POST that is done once takes a fresh UUID in `Idempotency-Key` or `client_key`: 201 "
        "the first time, 200 with the same result when it comes again, 409 `key_used` when the "
        "key stands for something else.\n\n"
        "Lists come in pages: `page` from 1, `page_size` up to 200. To read a long list to its "
        "end, or what changed since a moment (`updated_since`), send an empty `after` and follow "
        "`next`: no page costs more than the first. Times carry their offset; days are those of "
        "the shop. Money is text with two decimals in the shop's currency."
    ),
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "ENUM_NAME_OVERRIDES": {
        "StationKey": "tickets.choices.Station",
        "BoardKey": "tickets.boards.api.BOARDS",
        "PieceState": "tickets.choices.PieceState",
        "MoveKind": "tickets.choices.MoveKind",
        "PaymentKind": "counter.models.Payment.Kind",
        "TicketState": "counter.intake.shapes.STATES",
        "LoadState": "tickets.models.machines.LoadState",
        "LoadEventKind": "tickets.models.machines.LoadEventKind",
        "MachineKind": "tickets.models.machines.MachineKind",
        "Seen": "counter.intake.inspection.Seen",
    },
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["console"], "level": env.text("LOG_LEVEL", "WARNING")},
}
