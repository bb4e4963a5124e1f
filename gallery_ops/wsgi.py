"""Where does a web server enter? gunicorn gallery_ops.wsgi:application"""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gallery_ops.settings")
application = get_wsgi_application()
