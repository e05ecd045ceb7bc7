# One image for web, worker, beat and migrate; docker-compose.yml says which command runs.
FROM python:3.12-slim-bookworm

RUN apt-get update \
    && apt-get install -y --no-install-recommends \
        libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 \
        fonts-dejavu-core fonts-noto-core fonts-noto-cjk fonts-noto-color-emoji \
    && rm -rf /var/lib/apt/lists/*

ENV PYTHONUNBUFFERED=1 PYTHONDONTWRITEBYTECODE=1
RUN useradd --create-home pullpin
WORKDIR /app

# The packages first: they change less often than the code.
COPY requirements.lock ./
RUN pip install --no-cache-dir -r requirements.lock

COPY manage.py pyproject.toml ./
COPY vehicles vehicles
COPY installs installs
COPY shop shop
COPY templates templates

# Made into the image with stand-ins, since nothing of them ends up in a static file.
RUN PULLPIN_MODE=production SHOP_URL=https://build.invalid ALLOWED_HOSTS=build.invalid \
    SECRET_KEY=only-to-collect-the-static-files-0123456789-0123456789 \
    python manage.py collectstatic --noinput \
    && mkdir -p /app/var/photos && chown -R pullpin /app/var

USER pullpin
EXPOSE 8000
CMD ["gunicorn", "shop.wsgi", "--bind", "0.0.0.0:8000", "--workers", "3", "--no-control-socket"]
